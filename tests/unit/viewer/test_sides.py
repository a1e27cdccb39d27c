"""Edges of the enclosure that bound it in a picture: the silhouette of a box, by hand."""

import numpy as np
import pytest

from viewer.cameras import camera_towards
from viewer.sides import edges_of, rim

ROOM = np.array([[0.0, 0.0, 0.0], [1.2, 0.6, 0.5]])


def test_a_box_has_four_edges_along_each_axis() -> None:
    edges = edges_of(ROOM)
    assert [4, 4, 4] == [sum(edge.axis == axis for edge in edges) for axis in range(3)]
    assert 4 * (1.2 + 0.6 + 0.5) == pytest.approx(sum(np.linalg.norm(edge.ends[1] - edge.ends[0]) for edge in edges))


@pytest.mark.parametrize(
    ("eye", "count"),
    [((0.6, -3.0, 0.3), 4), ((0.6, 0.3, 4.0), 4), ((3.0, -3.0, 0.3), 6), ((0.6, -3.0, 2.0), 6), ((3.0, -3.0, 2.0), 6)],
    ids=["front", "top", "two sides", "front and top", "three sides"],
)
def test_a_silhouette_has_as_many_edges_as_sides_seen_allow(eye: tuple[float, float, float], count: int) -> None:
    # One face is bounded by four edges; two faces, or three, by six.
    camera = camera_towards(np.array(eye), ROOM.mean(axis=0), np.array([0.0, 0.1, 1.0]))
    assert count == len(rim(ROOM, camera))


def test_names_of_edges() -> None:
    words = {edge.words for edge in edges_of(ROOM)}
    assert {"front, 120 cm", "back, 120 cm", "left, 60 cm", "right, 60 cm", "50 cm"} == words
