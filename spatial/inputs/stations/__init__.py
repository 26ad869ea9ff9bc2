"""Reads weather stations: daily minima, normals and tables of freeze dates."""
