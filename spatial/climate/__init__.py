"""Freeze dates, seasons and daylight."""
