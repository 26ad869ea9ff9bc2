"""The last-cut zones of a district on page, paper and in files."""
