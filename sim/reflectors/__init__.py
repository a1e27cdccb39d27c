"""Reflector profiles swept along or around a lamp."""
