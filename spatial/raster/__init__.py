"""Cells of a grid under each field."""
