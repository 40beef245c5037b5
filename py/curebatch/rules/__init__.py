"""Limits as records, and what they say of a batch."""
