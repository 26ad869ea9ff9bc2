"""The parts of last-cut zones: what they are made for, the cells, the zones of a week, the table by area."""
