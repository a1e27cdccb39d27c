"""Lit triangles in a row become parallelograms where two are halves of one, each by itself where not."""

import numpy as np
import pytest

from sim.compile.emitters import pack_emitters
from sim.geometry.mesh import Mesh
from sim.lamps.lamp import LampShape


def _packed(corners: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> list[tuple[bool, list[list[float]]]]:
    """Return of each face whether it is whole, its corner and its edges."""
    body = Mesh(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3))
    lit = np.ones(len(corners), dtype=np.bool_)
    middle, down = np.zeros(3), np.array([0.0, 0.0, -1.0])
    shape = LampShape(body, lit, start=middle, end=middle, centre=middle, facing=down, radius=9.0)
    packed = pack_emitters([shape], np.ones((1, 1)))
    rows = zip(packed.whole, packed.corner, packed.edge1, packed.edge2, strict=True)
    return [(bool(whole), [part.tolist() for part in parts]) for whole, *parts in rows]


def _strip(count: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return triangles of a strip, each of which makes a parallelogram with the next."""
    up, down = [[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[1, 1, 0], [0, 1, 0], [1, 0, 0]]
    return np.array([np.add([up, down][k % 2], [k // 2, 0, 0]) for k in range(count)], dtype=np.float64)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 7])
def test_each_triangle_of_a_strip_pairs_with_the_next_that_is_free(count: int) -> None:
    packed = _packed(_strip(count))
    expected = [(True, [[k, 0, 0], [1, 0, 0], [0, 1, 0]]) for k in range(count // 2)]
    if count % 2:
        expected.append((False, [[count // 2, 0, 0], [1, 0, 0], [0, 1, 0]]))
    assert expected == packed


@pytest.mark.parametrize("turns", [(0, 0), (1, 0), (2, 0), (0, 1), (0, 2), (1, 2), (2, 1)])
def test_pair_is_found_wherever_its_corners_are_counted_from(turns: tuple[int, int]) -> None:
    corners = np.stack([np.roll(part, turn, axis=0) for part, turn in zip(_strip(2), turns, strict=True)])
    assert [(True, [[0, 0, 0], [1, 0, 0], [0, 1, 0]])] == _packed(corners)


def test_neighbours_that_only_touch_stay_triangles() -> None:
    corners = _strip(2)
    corners[1, 0, 2] += 1e-6
    assert [False, False] == [whole for whole, _ in _packed(corners)]
