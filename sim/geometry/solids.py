"""Round builders that are not swept: sphere and disc."""

import numpy as np

from sim.geometry.edges import of_keys, pair_keys, sides
from sim.geometry.mesh import FloatArray, IntArray, Mesh, frame_from_axis


def disc(centre: FloatArray, normal: FloatArray, radius: float, sides: int = 32) -> Mesh:
    """Return a fan of `sides` triangles with the area of the disc, front towards the normal.

    Parameters
    ----------
    centre : (3,) float [m]
    normal : (3,) float, unit vector
    radius : float [m]
    sides : int

    Notes
    -----
    The area is kept, not the radius: what a flat face emits or receives goes by its area.
    """
    angle = 2.0 * np.pi * np.arange(sides) / sides
    x, y, _ = frame_from_axis(normal)
    corner_radius = radius * np.sqrt(2.0 * np.pi / sides / np.sin(2.0 * np.pi / sides))
    rim = centre + corner_radius * (np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * y)
    side = np.arange(sides)
    faces = np.stack([np.zeros_like(side), 1 + side, 1 + (side + 1) % sides], axis=-1)
    return Mesh(np.concatenate([centre[None], rim]), faces)


def sphere(centre: FloatArray, radius: float, level: int = 3) -> Mesh:
    """Return an icosahedron subdivided `level` times with the area of the sphere, fronts outward.

    Parameters
    ----------
    centre : (3,) float [m]
    radius : float [m]
    level : int
        0 gives 20 triangles, each step four times as many.

    Notes
    -----
    The area is kept, not the radius: by Cauchy's formula the mean shadow of a convex body is a quarter of its surface,
    so the body casts on average the sphere's shadow.
    """
    vertices, faces = _icosahedron()
    for _ in range(level):
        vertices, faces = _quartered(vertices, faces)
    unit = Mesh(vertices, faces)
    factor = radius * np.sqrt(4.0 * np.pi / unit.areas.sum())
    return Mesh(centre + factor * vertices, faces)


def sphere_level(radius: float, size: float) -> int:
    """Return the level (1 to 6) at which a sphere's triangles are no longer than about `size` [m]."""
    edge = 1.0515 * radius  # of the icosahedron in a sphere: 4 / sqrt(10 + 2 sqrt 5)
    return int(np.clip(np.ceil(np.log2(edge / size)), 1, 6))


def _icosahedron() -> tuple[FloatArray, IntArray]:
    golden = 0.5 * (1.0 + np.sqrt(5.0))
    flat = [(-1, golden), (1, golden), (-1, -golden), (1, -golden)]
    corners = [(a, b, 0) for a, b in flat] + [(0, a, b) for a, b in flat] + [(b, 0, a) for a, b in flat]
    vertices = np.array(corners, dtype=np.float64)
    edge = 2.0
    distance = np.linalg.norm(vertices[:, None] - vertices[None], axis=-1)
    near = np.abs(distance - edge) < 1e-9
    faces = [
        (i, j, k)
        for i in range(12)
        for j in range(i + 1, 12)
        for k in range(j + 1, 12)
        if near[i, j] and near[j, k] and near[k, i]
    ]
    outward = [(i, j, k) if np.linalg.det(vertices[[i, j, k]]) > 0.0 else (i, k, j) for i, j, k in faces]
    return vertices / np.linalg.norm(vertices[0]), np.array(outward)


def _quartered(vertices: FloatArray, faces: IntArray) -> tuple[FloatArray, IntArray]:
    keys, which = np.unique(pair_keys(sides(faces), len(vertices)), return_inverse=True)
    middles = vertices[of_keys(keys, len(vertices))].sum(axis=1)
    middles /= np.linalg.norm(middles, axis=1, keepdims=True)
    ab, bc, ca = (len(vertices) + which.reshape(-1, 3)).T
    a, b, c = faces.T
    quarters = [(a, ab, ca), (b, bc, ab), (c, ca, bc), (ab, bc, ca)]
    split = np.stack([np.stack(corner, axis=-1) for corner in quarters], axis=1).reshape(-1, 3)
    return np.concatenate([vertices, middles]), split
