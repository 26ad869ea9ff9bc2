"""Reads the user's files, and nothing else does."""
