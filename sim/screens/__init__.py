"""Woven screens."""
