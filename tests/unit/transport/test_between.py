"""Rays past what was listed between a receiver and a lamp get what walks through the tree say, to the last digits."""

import numpy as np
import pytest

from sim.transport.arrays import F64, I64
from sim.transport.between import LEAVES, WALK
from sim.transport.hull import DIRECTIONS, MARGIN, enclose, misses_box, misses_piece, new_hull, set_lamp
from sim.transport.tree_lanes import ROW
from tests.support.kernel_loops import reached, uniform_block
from tests.support.setups import Setup, setup_of
from tests.support.sizes import sized
from tests.support.two_lamps import SCENES
from tests.unit.transport.test_gather import place, room

pytestmark = pytest.mark.tiny
TRIED = sized(2000, 6)


def looks(setup: Setup, lamp: int, receiver: int, way: int, seed: int) -> tuple[I64, F64, F64]:
    """Pieces in each list, and what arrives of each band from points that face each other, by lists and by walks."""
    model = setup.compiled.model
    counts = np.zeros(1 + 2 * len(model.mirrors.surface), dtype=np.int64)
    by_lists, by_walks = (np.zeros((TRIED, model.emitters.live.shape[1])) for _ in range(2))
    faced = np.zeros(TRIED, dtype=np.bool_)
    reached(model, lamp, receiver, way, uniform_block(TRIED, 5, seed), counts, by_lists, by_walks, faced)
    return counts, by_lists[faced], by_walks[faced]


@pytest.mark.parametrize("name", sorted(SCENES))
def test_lists_say_what_walks_do(name: str) -> None:
    setup = setup_of(SCENES[name])
    model = setup.compiled.model
    listed, seen = 0, 0
    for receiver in np.unique(np.linspace(0, len(model.receivers.origin) - 1, sized(100, 2)).astype(int)):
        for lamp in range(len(model.emitters.area)):
            for way in range(1 + len(model.mirrors.surface)):
                counts, by_lists, by_walks = looks(setup, lamp, receiver, way, 100 * receiver + way)
                np.testing.assert_allclose(by_lists, by_walks, rtol=1e-12, atol=0.0)
                listed += int((counts != WALK).sum())
                seen += len(counts)
    # Lists that are given up prove nothing.
    assert listed > seen // 4


def test_nothing_in_between_is_an_empty_list() -> None:
    counts, by_lists, _ = looks(room(mirrors=', left = "bright"'), 0, 0, 0, 1)
    # From the receiver to the mirror and on there is nothing but the mirror, which all rays meet.
    assert [0, 1, 0] == counts.tolist()
    assert by_lists.min() == 1.0


@pytest.mark.parametrize(("law", "part"), [("black", 0.0), ("nothing", 1.0)])
def test_a_plate_in_between_is_listed(law: str, part: float) -> None:
    counts, by_lists, _ = looks(room(plate=place(0, 0, 20, 80, 60, law)), 0, 0, 0, 2)
    assert [1] == counts.tolist()
    np.testing.assert_allclose(by_lists, part, rtol=1e-12, atol=0.0)


def named(plate: str, name: str) -> str:
    return plate.replace('name = "plate"', f'name = "{name}"')


def test_a_mirror_that_some_rays_pass_is_left_to_walks() -> None:
    upright = place(10, 15, 20, 0, 20, "bright").replace(
        'edge_u = ["0 cm", "0 cm"', 'edge_u = ["0 cm", "0 cm", "9 cm"]#'
    )
    counts, by_lists, by_walks = looks(room(plate=upright), 0, 0, 1, 3)
    assert counts[1] == WALK
    assert 0.0 < by_lists.mean() < 1.0
    assert np.array_equal(by_lists, by_walks)


def test_two_surfaces_in_one_plane_are_left_to_walks() -> None:
    pane, poster = place(0, 0, 20, 80, 60, "nothing"), named(place(10, 10, 20, 20, 30, "black"), "poster")
    counts, by_lists, by_walks = looks(room(plate=pane + poster), 0, 0, 0, 4)
    assert [WALK] == counts.tolist()
    assert 0.0 < by_lists.mean() < 1.0
    assert np.array_equal(by_lists, by_walks)


def test_more_than_a_list_holds_is_left_to_walks() -> None:
    one, more = ("".join(named(place(30, 25, 6 + 0.4 * i, 1, 1, "black"), f"{i}") for i in range(n)) for n in (64, 65))
    counts, by_lists, by_walks = looks(room(plate=one), 0, 0, 0, 5)
    assert [LEAVES * ROW] == counts.tolist()
    assert 0.0 < by_lists.mean() < 1.0
    assert np.array_equal(by_lists, by_walks)
    assert [WALK] == looks(room(plate=more), 0, 0, 0, 5)[0].tolist()


def test_a_hull_holds_all_that_lies_between() -> None:
    setup = setup_of(SCENES["glossy and mirror, pane, leaf and screen"])
    emitters, hull = setup.compiled.model.emitters, new_hull()
    rng = np.random.default_rng(6)
    for lamp in range(2):
        set_lamp(emitters, lamp, hull)
        corner = rng.random((5, 3)) * [0.8, 0.5, 0.2]
        corner[3] = corner[1] + corner[2] - corner[0]
        corner[4] = np.cross(corner[1] - corner[0], corner[2] - corner[0])
        corner[4] /= np.linalg.norm(corner[4])
        enclose(hull, corner, hull.box, hull.frame[0], np.zeros(3))
        # Any point of the lamp's faces lies in its box, and any between it and the receiver in the hull.
        faces = slice(emitters.first[lamp], emitters.first[lamp + 1])
        u = rng.random((2, 50, 1, 1))
        lit = emitters.corner[faces] + u[0] * emitters.edge1[faces] * 0.5 + u[1] * emitters.edge2[faces] * 0.5
        lit = lit.reshape(-1, 3)
        s, t, along = rng.random((3, len(lit), 1))
        there = corner[0] + s * (corner[1] - corner[0]) + t * (corner[2] - corner[0])
        for point in (there + along * (lit - there))[:: sized(1, 40)]:
            assert not misses_box(hull, *point, 0.0, 0.0, 0.0)
            piece = np.concatenate([point - 0.01, [0.03, 0.0, 0.0, 0.0, 0.03, 0.03]])
            assert not misses_piece(hull, piece, True)
        # Well outside along any direction is outside.
        for k in range(DIRECTIONS):
            if hull.axes[:, k].any():
                out = lit[0] + hull.axes[:, k] * (hull.high[k] - lit[0] @ hull.axes[:, k] + 10.0 * MARGIN)
                assert misses_box(hull, *out, 0.0, 0.0, 0.0)
