"""Reads what is known of the soil: lab tests, the soil survey, rasters, and the rules of lime."""
