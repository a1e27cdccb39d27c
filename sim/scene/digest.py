"""A short fingerprint of a scene: the same for the same meaning, whatever the units and the order of keys."""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

from pydantic import BaseModel

DIGITS = 12
"""Significant digits that count: "35 cm" and "0.35 m" differ in the sixteenth."""


def digest_of(*values: object) -> str:
    """Return the first 16 hexadecimal digits of the SHA-256 of values in canonical form.

    Parameters
    ----------
    *values : objects
        Specs, mappings, sequences, scalars and paths; a path counts by the content of its file, not by its name.

    Raises
    ------
    OSError
        If a file has gone since it was validated.
    """
    text = json.dumps([_canonical(value) for value in values], sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _canonical(value: object) -> object:
    if isinstance(value, BaseModel):
        return {name: _canonical(getattr(value, name)) for name in type(value).model_fields}
    if isinstance(value, Mapping):
        return {str(key): _canonical(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_canonical(inner) for inner in value]
    if isinstance(value, Path):
        return {"sha256": hashlib.sha256(value.read_bytes()).hexdigest()}
    if isinstance(value, float):
        return f"{value + 0.0:.{DIGITS}g}"
    return value
