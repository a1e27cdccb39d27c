"""Geometry as arrays: meshes, builders, receivers."""
