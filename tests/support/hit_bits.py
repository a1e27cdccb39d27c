"""Distances and triangles of many rays, boiled down to one line, so that processes can compare theirs."""

import hashlib
import sys

import numpy as np

from sim.transport.arrays import F64
from sim.transport.jit import VECTORS
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import closest_hits


def scenes(rng: np.random.Generator, count: int) -> list[F64]:
    """Triangles: at random, in a few planes, over and over, tiny ones far off, large ones around small ones."""
    soup = rng.random((count, 1, 3)) + 0.2 * rng.standard_normal((count, 3, 3))
    flat = soup.copy()
    flat[:, :, 2] = np.round(flat[:, :, 2].mean(axis=1, keepdims=True) * 4.0) / 4.0
    small = soup.copy()
    small[8:] = small[8:, :1] + 0.05 * (small[8:] - small[8:, :1])
    return [soup, flat, np.repeat(soup[: max(1, count // 4)], 4, axis=0), 1e-2 * soup + 40.0, small]


def hit_bits(triangles: int, rays: int) -> str:
    """Return the way of this process and a digest of all bits of its answers."""
    rng = np.random.Generator(np.random.PCG64(99))
    digest = hashlib.sha256()
    for corners in scenes(rng, triangles):
        low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
        origins = low + (high - low) * rng.uniform(-0.5, 1.5, (rays, 3))
        directions = rng.standard_normal((rays, 3))
        # Some rays aim at edges, where nothing but the same arithmetic gives the same answer.
        aimed = np.arange(0, rays, 3)
        row = rng.integers(0, len(corners), len(aimed))
        directions[aimed] = 0.5 * (corners[row, 0] + corners[row, 1]) - origins[aimed]
        directions /= np.linalg.norm(directions, axis=1, keepdims=True)
        distance, triangle = np.full(rays, np.nan), np.full(rays, -77)
        closest_hits(build_tree(corners), origins, directions, distance, triangle)
        assert not np.any(np.isnan(distance))
        assert np.any(triangle >= 0)
        digest.update(distance.tobytes() + triangle.tobytes())
    return f"{VECTORS} {digest.hexdigest()}"


if __name__ == "__main__":
    sys.stdout.write(hit_bits(int(sys.argv[1]), int(sys.argv[2])) + "\n")
