"""A sheet of paper and what is drawn on it."""
