"""Simulate UV light in a reptile enclosure by ray tracing."""
