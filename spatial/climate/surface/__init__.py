"""Freeze dates of stations brought to every cell of a grid."""
