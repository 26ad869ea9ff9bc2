"""The invented district of the sample region, one idea a module."""
