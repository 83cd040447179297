"""The sample garments and their traced inputs, as package data."""
