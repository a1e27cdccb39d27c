"""Closest hits found by looking at every triangle, by another method than the kernels': planes and edge functions."""

import numpy as np

from sim.transport.arrays import F64

UNSURE = 1e-9
"""Within this share of a triangle from its edge, rounding may decide whether a ray hits."""
NEAR = 1e-9
"""Hits nearer than this [m] do not count, as in the kernels."""


def all_hits(corners: F64, o: F64, d: F64) -> tuple[F64, F64]:
    """Distance to each triangle (n,), infinite where missed, and the least distance of the hit from its edges (n,)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    n = np.cross(b - a, c - a)
    size = np.einsum("ij,ij->i", n, n)
    across = n @ d
    able = (size > 0.0) & (across != 0.0)
    t = np.full(len(corners), np.inf)
    t[able] = np.einsum("ij,ij->i", n[able], a[able] - o) / across[able]
    margin = np.full(len(corners), -np.inf)
    p = o + t[able, None] * d
    shares = [
        np.einsum("ij,ij->i", n[able], np.cross(end[able] - start[able], p - start[able])) / size[able]
        for start, end in ((a, b), (b, c), (c, a))
    ]
    margin[able] = np.min(shares, axis=0)
    t[(margin < 0.0) | (t <= NEAR)] = np.inf
    return t, margin


def closest(corners: F64, origins: F64, directions: F64) -> tuple[F64, list[set[int]], np.ndarray]:
    """Least distance (m,), the triangles at that distance, and whether the answer is sure (m,) of many rays."""
    distance, rows, sure = [], [], []
    for o, d in zip(origins, directions, strict=True):
        t, margin = all_hits(corners, o, d)
        least = float(t.min())
        distance.append(least)
        rows.append(set(np.flatnonzero(t <= least + 1e-9).tolist()) if np.isfinite(least) else set())
        sure.append(not np.any(np.abs(margin) < UNSURE))
    return np.array(distance), rows, np.array(sure)
