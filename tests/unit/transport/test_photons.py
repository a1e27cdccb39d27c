"""Photons: the books close, tallies are added to and nothing else, light stays in closed rooms."""

from functools import cache

import numpy as np
import pytest

from sim.transport.arrays import Planes, Surfaces
from sim.transport.photons import Sums, trace_photons
from sim.transport.triangles import NOTHING, records
from tests.support.kernel_loops import cells_of
from tests.support.setups import Setup, setup_of
from tests.support.sizes import COMPILED, sized
from tests.support.two_lamps import RICHEST, SCENES

pytestmark = pytest.mark.tiny

NAMES = list(SCENES) if COMPILED else [RICHEST, "hole"]


@cache
def setup(name: str) -> Setup:
    return setup_of(SCENES[name], plain=True)


def sums(made: Setup, start: float = 0.0) -> Sums:
    """Sums of one replicate, all at a start."""
    compiled, model = made.compiled, made.compiled.model
    bands = model.emitters.live.shape[1]
    shapes = (compiled.cells, len(compiled.effort), len(compiled.surface_names))
    ends = np.full(bands, start), np.full(bands, start)
    return Sums(*(np.full((count, bands), start) for count in shapes), *ends, np.full((shapes[2], bands), start))


def traced(made: Setup, lamp: int, first: int, count: int, into: Sums) -> Sums:
    trace_photons(made.compiled.model, lamp, 3, first, count, 11, into)
    return into


@pytest.mark.parametrize("name", NAMES)
def test_the_books_close(name: str) -> None:
    """In each band what a lamp emits is absorbed, escapes or is unfinished."""
    made, count = setup(name), sized(3000, 20)
    for lamp in range(2):
        _, _, absorbed, escaped, unfinished, _ = traced(made, lamp, 0, count, sums(made))
        emitted = count * made.compiled.model.emitters.live[lamp]
        np.testing.assert_allclose(absorbed.sum(axis=0) + escaped + unfinished, emitted, rtol=1e-12)
        assert np.all(unfinished == 0.0)
        assert np.all(absorbed.sum(axis=0)[emitted == 0.0] == 0.0)


def test_tallies_are_added_to() -> None:
    made, count = setup(RICHEST), sized(500, 15)
    fresh, poisoned = traced(made, 0, 0, count, sums(made)), traced(made, 0, 0, count, sums(made, 7.0))
    for one, other in zip(fresh, poisoned, strict=True):
        np.testing.assert_allclose(other - 7.0, one, atol=1e-9 * count)
    assert all(part.sum() > 0.0 for part in fresh[:3])


def test_pieces_of_a_run_add_up_to_the_whole() -> None:
    made, count = setup(RICHEST), sized(500, 12)
    whole = traced(made, 1, 0, count, sums(made))
    pieces = traced(made, 1, count // 3, count - count // 3, traced(made, 1, 0, count // 3, sums(made)))
    for one, other in zip(whole, pieces, strict=True):
        assert np.array_equal(one, other)


def test_no_photons_change_nothing() -> None:
    made = setup(RICHEST)
    for part in traced(made, 0, 5, 0, sums(made, -3.0)):
        assert np.all(part == -3.0)


CLOSED = [name for name, text in SCENES.items() if '"mesh"' not in text.split("}")[0] and name != "hole"]


@pytest.mark.parametrize("name", CLOSED if COMPILED else CLOSED[:1])
def test_nothing_escapes_from_a_closed_room(name: str) -> None:
    """Not one photon of many, through no edge of walls, furniture and lamps."""
    made = setup(name)
    for lamp in range(2):
        *_, escaped, _, _ = traced(made, lamp, 0, sized(60_000, 15), sums(made))
        assert np.all(escaped == 0.0)


def test_light_escapes_through_a_hole() -> None:
    made = setup("hole")
    *_, escaped, _, _ = traced(made, 0, 0, sized(3000, 60), sums(made))
    assert escaped.sum() > 0.0


def test_light_that_no_surface_takes_is_told_as_unfinished(monkeypatch: pytest.MonkeyPatch) -> None:
    if COMPILED:
        pytest.skip("a compiled limit stands; a hundred thousand bounces are seen as plain Python with a lower one")
    monkeypatch.setattr("sim.transport.photons.BOUNCE_LIMIT", 20)
    made = setup_of(SCENES["matt"])
    made.compiled.model.laws.diffuse[..., 0] = 1.0
    made.compiled.model.laws.diffuse[..., 1] = 0.0
    _, _, absorbed, escaped, unfinished, _ = traced(made, 0, 0, 3, sums(made))
    assert (0.0, 0.0) == (float(np.abs(absorbed).sum()), float(escaped.sum()))
    np.testing.assert_allclose(unfinished, 3.0 * made.compiled.model.emitters.live[0])


def grid_surface() -> Surfaces:
    """One surface: 3 by 2 cells over the rectangle from (1, 1, 0), 0.3 m by 0.2 m; its first cell is row 10."""
    normal, names = records(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 1.0]]), np.array([0, 1]), np.array([NOTHING, 5]))
    return Surfaces(
        normal=normal,
        names=names,
        emitter=np.zeros((0, 2), dtype=np.int64),
        tangent=np.zeros((0, 3)),
        unlit=np.full(2, NOTHING),
        unwoven=np.full(2, NOTHING),
        law=np.zeros((2, 2), dtype=np.int64),
        grid=np.array([[1.0, 1.0, 0.0, 1.0 / 0.3, 0.0, 0.0, 0.0, 1.0 / 0.2, 0.0], np.zeros(9)]),
        cells=np.array([[10, 3, 2], [-1, 0, 0]]),
        mirror=np.zeros(2, dtype=np.int64),
        shared=np.zeros(0, dtype=np.int64),
    )


PLACES = [
    ((1.0, 1.0), 10),
    ((1.05, 1.05), 10),
    ((1.15, 1.05), 11),
    ((1.25, 1.15), 15),
    ((1.3, 1.2), 15),
    ((1.0 - 1e-15, 1.2 + 1e-15), 13),
    ((1.3 + 1e-15, 1.0), 12),
]


@pytest.mark.parametrize(("place", "cell"), PLACES)
def test_cell_of_a_point_edges_included(place: tuple[float, float], cell: int) -> None:
    found = np.full(1, -99)
    cells_of(grid_surface(), 0, 0, np.array([[*place, 0.0]]), found)
    assert cell == found[0]


def test_a_triangle_without_a_grid_has_one_cell() -> None:
    found = np.full(1, -99)
    cells_of(grid_surface(), 1, 1, np.array([[5.0, 5.0, 5.0]]), found)
    assert 5 == found[0]


def test_planes_count_what_arrives_from_their_front_once() -> None:
    """The planes on the walls of a box, against the walls' own cells, photon by photon, straight light apart."""
    made = setup("matt")
    count = sized(2000, 40)
    cells, crossed, *_ = traced(made, 0, 0, count, sums(made))
    planes: Planes = made.compiled.model.planes
    assert len(planes.normal) == 6
    compiled = made.compiled
    for group in compiled.groups:
        if group.kind == "surface" and f"on {group.name}" in {g.name for g in compiled.groups}:
            other = next(g for g in compiled.groups if g.name == f"on {group.name}")
            arrived = cells[group.rows].sum()
            scattered = crossed[other.first - compiled.cells].sum()
            # What comes straight from the lamp is left to shadow rays.
            assert 0.0 < scattered < arrived
