"""Surfaces that are one rectangle: walls, faces of boxes, plates."""

from sim.geometry.frame import Frame
from sim.geometry.rectangles import frame_mesh
from sim.materials.law import LawRef
from sim.materials.screen import Screen
from sim.materials.surface import Surface


def flat_surface(name: str, frame: Frame, law: LawRef) -> Surface:
    """Return the surface of a frame, front towards its measured side, woven along its first edge.

    Notes
    -----
    A screen spelled out in place is not measured: what falls on its wires is of no use to anyone. Whether a name
    means a screen only the scene knows.
    """
    return Surface(
        name=name,
        mesh=frame_mesh(frame),
        law=law,
        frame=frame,
        measured=not isinstance(law, Screen),
        tangent=frame.tangent,
    )
