"""The built site in three engines, driven alike."""
