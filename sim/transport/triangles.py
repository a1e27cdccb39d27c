"""What is known of a triangle: its surface and receiver, and of a lamp's its face, of a screen's how the cloth lies."""

from typing import cast

import numpy as np

from sim.transport.arrays import F64, I32, I64, Surfaces
from sim.transport.jit import VECTORS, helper
from sim.transport.pages import side_by_side
from sim.transport.simd import prefetch

SURFACE, RECEIVER = 6, 7
"""Columns of ``names`` in `Surfaces`; the six before are the normal."""
NAMES = 8
NOTHING = -1


def records(normal: F64, surface: I64 | I32, receiver: I64 | int) -> tuple[F64, I32]:
    """Return ``normal`` and ``names`` of `Surfaces`, given unit normals (n, 3), surfaces and receivers (n,) or one."""
    whole = np.zeros((len(normal), NAMES // 2))
    whole[:, :3] = normal
    named = whole.view(np.int32)
    named[:, SURFACE], named[:, RECEIVER] = surface, receiver
    (whole,) = cast(tuple[F64], tuple(side_by_side((whole,))))
    return whole, whole.view(np.int32)


@helper
def surface_of(surfaces: Surfaces, triangle: int) -> int:
    """Return the row of a triangle's surface."""
    return int(np.int64(surfaces.names[triangle, SURFACE]))


@helper
def receiver_of(surfaces: Surfaces, triangle: int) -> int:
    """Return the cell that a triangle without a grid belongs to, or NOTHING."""
    return int(np.int64(surfaces.names[triangle, RECEIVER]))


@helper
def lamp_of(surfaces: Surfaces, triangle: int) -> int:
    """Return the lamp whose light leaves a triangle's front, or NOTHING."""
    before = surfaces.unlit[surface_of(surfaces, triangle)]
    return int(surfaces.emitter[triangle - before, 0]) if before != NOTHING else NOTHING


@helper
def face_of(surfaces: Surfaces, triangle: int) -> int:
    """Return the face among the emitters that a lit triangle is all or half of."""
    return int(surfaces.emitter[triangle - surfaces.unlit[surface_of(surfaces, triangle)], 1])


@helper
def woven_row(surfaces: Surfaces, triangle: int) -> int:
    """Return the row in ``tangent`` of a triangle of a screen."""
    return triangle - int(surfaces.unwoven[surface_of(surfaces, triangle)])


@helper
def _call_vector(surfaces: Surfaces, triangle: int) -> None:
    """Ask memory for what lies on a triangle, -1 for none, that will be looked at soon."""
    prefetch(surfaces.names, NAMES * max(0, triangle))


@helper
def _call_plain(surfaces: Surfaces, triangle: int) -> None:
    """Leave it to the processor."""


call_triangle = _call_plain if VECTORS == "plain" else _call_vector
