"""Reads daily minima on a grid."""
