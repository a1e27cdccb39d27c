"""The scene that tracers race in, a closed box with leaves thrown into it at random, and rays through it."""

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import Tree
from sim.transport.tree_traverse import next_hits

FloatArray = npt.NDArray[np.float64]
Rays = tuple[FloatArray, FloatArray, npt.NDArray[np.int64]]
"""Origins, directions, and the triangles that rays start on, -1 where on none."""

ROOM = np.array([1.2, 0.6, 0.6])
LEAF = 0.06
BOUNCES = 4


def closed_box(cells: int = 1) -> FloatArray:
    """Return the corners of a box's triangles, two to a cell, (12 cells^2, 3, 3) [m]."""
    steps = np.arange(cells) / cells
    u, v = (part.ravel() for part in np.meshgrid(steps, steps, indexing="ij"))
    s = 1.0 / cells
    square = np.array([[(0, 0), (s, 0), (s, s)], [(0, 0), (s, s), (0, s)]])
    flat = (np.stack([u, v], axis=1)[:, None, None, :] + square).reshape(-1, 3, 2)
    sides = []
    for axis in range(3):
        for level in (0.0, 1.0):
            side = np.full((len(flat), 3, 3), level)
            side[:, :, [other for other in range(3) if other != axis]] = flat
            sides.append(side * ROOM)
    return np.concatenate(sides)


def closed_box_with_leaves(triangles: int, rng: np.random.Generator) -> FloatArray:
    """Return the corners of a closed box and of diamond leaves thrown into it at random, (triangles, 3, 3) [m]."""
    walls = closed_box()
    leaves = (triangles - len(walls)) // 2
    middle = rng.uniform(0.5 * LEAF, ROOM - 0.5 * LEAF, (leaves, 3))
    along = directions(leaves, rng)
    across = np.cross(along, directions(leaves, rng))
    across /= np.linalg.norm(across, axis=1)[:, None]
    tip, side = 0.5 * LEAF * along, 0.25 * LEAF * across
    left = np.stack([middle - tip, middle + side, middle + tip], axis=1)
    right = np.stack([middle - tip, middle + tip, middle - side], axis=1)
    return np.concatenate([walls, left, right])


def cut(corners: FloatArray, parts: int) -> FloatArray:
    """Return triangles cut along lines parallel to their edges, parts^2 of each, (n parts^2, 3, 3) [m]."""
    found = []
    for i in range(parts):
        for j in range(parts - i):
            places = [[(i, j), (i + 1, j), (i, j + 1)]]
            if i + j < parts - 1:
                places.append([(i + 1, j + 1), (i, j + 1), (i + 1, j)])
            for place in places:
                u, v = np.array(place).T / parts
                weights = np.stack([1.0 - u - v, u, v], axis=1)
                found.append(np.einsum("ij,njk->nik", weights, corners))
    return np.concatenate(found)


def directions(count: int, rng: np.random.Generator) -> FloatArray:
    """Return directions that are uniform over the sphere, (count, 3)."""
    vectors = rng.standard_normal((count, 3))
    units: FloatArray = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    return units


def lamp_rays(count: int, rng: np.random.Generator) -> Rays:
    """Return rays in all directions from a tube under the ceiling."""
    origins = np.array([0.3, 0.29, 0.54]) + rng.random((count, 3)) * np.array([0.6, 0.02, 0.02])
    return origins, directions(count, rng), np.full(count, -1)


def path_segments(count: int, rng: np.random.Generator, corners: FloatArray, tree: Tree) -> Rays:
    """Return later segments of histories of matt scattering, to the side that light came from, in a random order."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    histories = -(-count // BOUNCES)
    origins, towards, leaving = lamp_rays(histories, rng)
    found = []
    for _ in range(BOUNCES):
        distance, triangle = np.full(histories, np.nan), np.full(histories, -1)
        next_hits(tree, origins, towards, leaving, distance, triangle)
        origins = origins + distance[:, None] * towards
        side = -np.sign(np.einsum("ij,ij->i", normals[triangle], towards))[:, None] * normals[triangle]
        towards = directions(histories, rng)
        towards *= np.sign(np.einsum("ij,ij->i", side, towards))[:, None]
        leaving = triangle
        found.append((origins, towards, leaving))
    mixed = rng.permutation(histories * BOUNCES)[:count]
    origins, towards, leaving = (np.ascontiguousarray(np.concatenate(part)[mixed]) for part in zip(*found, strict=True))
    return origins, towards, leaving
