"""Freeze dates as pictures, tables and words."""
