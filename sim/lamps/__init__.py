"""Lamps as emissive surfaces with a body."""
