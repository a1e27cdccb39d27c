"""The edges of a mesh, each as one number, since numbers are sorted many times sooner than pairs."""

import numpy as np

from sim.geometry.mesh import IntArray


def sides(faces: IntArray) -> IntArray:
    """Return the two vertices of each side of each triangle (m, 3), in its order, (3 m, 2)."""
    pairs: IntArray = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    return pairs


def pair_keys(pairs: IntArray, count: int) -> IntArray:
    """Return a number for each unordered pair of numbers below `count`, (k,); keys are in the order of sorted pairs."""
    low, high = np.minimum(pairs[:, 0], pairs[:, 1]), np.maximum(pairs[:, 0], pairs[:, 1])
    keys: IntArray = low * count + high
    return keys


def of_keys(keys: IntArray, count: int) -> IntArray:
    """Return the pairs of keys, the lower number first, (k, 2)."""
    pairs: IntArray = np.stack(np.divmod(keys, max(count, 1)), axis=1)
    return pairs
