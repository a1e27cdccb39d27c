"""A named surface: triangles, what they do with light, and where irradiance on them is counted."""

from dataclasses import dataclass, field

import numpy as np

from sim.geometry.frame import Frame
from sim.geometry.mesh import FloatArray, IntArray, Mesh
from sim.materials.law import LawRef


def _along_x() -> FloatArray:
    return np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True)
class Surface:
    """Triangles that share a name, a law and a set of receivers.

    Attributes
    ----------
    name : str
        As results print it: ``floor``, ``ledge.top``.
    mesh : Mesh
    law : LawRef
        What both sides do with light; `back_law` differs where it is given.
    frame : Frame, optional
        Cells of a flat rectangular surface. Its normal tells which side is measured.
    patches : (n_triangles,) int, optional
        For a surface without a frame: the receiver of each triangle, 0 … n - 1; its front is measured.
    measured : bool
        False for lamp bodies, reflectors and screens, whose irradiance nobody reads.
    closed : bool
        True where the triangles enclose a body, so that only fronts can be seen.
    reachable : bool
        Whether an animal can be on it.
    tangent : (3,) float
        Direction of the first wires of a woven screen. On triangles that are askew to it they run along its
        projection, as cloth does that is laid over a shape.
    """

    name: str
    mesh: Mesh
    law: LawRef
    back_law: LawRef | None = None
    frame: Frame | None = None
    patches: IntArray | None = None
    measured: bool = True
    closed: bool = False
    reachable: bool = False
    tangent: FloatArray = field(default_factory=_along_x)
