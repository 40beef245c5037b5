"""Measures the built site against a page with the stock runtime. Nothing here asserts a time."""
