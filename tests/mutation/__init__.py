"""Mutation testing: the program changed on purpose, one place at a time, to see a test fail."""
