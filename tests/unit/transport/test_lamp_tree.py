"""Points of a lamp drawn for one place: as often as is said, and with the same light in the mean as uniform points."""

import numpy as np
import pytest

from sim.transport.arrays import F64, I64, Emitters
from sim.transport.pieces import SHARE
from tests.support.kernel_loops import emission_samples, lamp_oftens, lamp_samples
from tests.support.setups import setup_of
from tests.support.sizes import sized

pytestmark = pytest.mark.tiny

SCENE = """
title = "A tube and a panel"
[enclosure]
size = ["80 cm", "60 cm", "50 cm"]
walls = { all = "black" }
[[lamps]]
name = "tube"
kind = "tube"
from = ["20 cm", "30 cm", "45 cm"]
to = ["60 cm", "30 cm", "45 cm"]
radius = "8 mm"
body = "black"
spectrum = { lines = [{ at = "313 nm" }] }
output = { radiant = "1 W" }
[[lamps]]
name = "panel"
kind = "panel"
corner = ["20 cm", "10 cm", "40 cm"]
edge_u = ["0 cm", "15 cm", "0 cm"]
edge_v = ["20 cm", "0 cm", "0 cm"]
body = "black"
spectrum = { lines = [{ at = "313 nm" }] }
output = { radiant = "1 W" }
[animal]
reach = []
"""
TUBE, PANEL = 0, 1
ASKANCE, CLOSE_BY = "on the side, askance", "on the ceiling, close by"
BEHIND_THE_PANEL = (ASKANCE, CLOSE_BY)
PLACES = {
    "on the floor": ((0.3, 0.2, 0.0), (0.0, 0.0, 1.0)),
    CLOSE_BY: ((0.41, 0.31, 0.5), (0.0, 0.0, -1.0)),
    ASKANCE: ((0.8, 0.3, 0.44), (-1.0, 0.0, 0.0)),
    "a wire": ((0.3, 0.3, 0.3), (0.0, 0.0, 0.0)),
}


@pytest.fixture(scope="module")
def emitters() -> Emitters:
    return setup_of(SCENE).compiled.model.emitters


def drawn(emitters: Emitters, lamp: int, place: str, count: int) -> tuple[I64, F64, F64]:
    """Faces, how often, and points, for a place and so many random numbers."""
    x, normal = (np.array(part) for part in PLACES[place])
    rows, often, points = np.full(count, -2), np.full(count, np.nan), np.zeros((count, 3))
    lamp_samples(emitters, lamp, x, normal, np.random.default_rng(3).random((count, 3)), rows, often, points)
    return rows, often, points


def light(emitters: Emitters, place: str, rows: I64, points: F64) -> F64:
    """What each point sends to a place: cosines where they are positive, over distance squared."""
    x, normal = (np.array(part) for part in PLACES[place])
    gap = points - x
    d2 = (gap**2).sum(axis=1)
    there = -(gap * emitters.normal[rows]).sum(axis=1)
    here = gap @ normal if normal.any() else np.sqrt(d2)
    return np.where((here > 0.0) & (there > 0.0), here * there / d2**2, 0.0)


@pytest.mark.parametrize("lamp", [TUBE, PANEL])
@pytest.mark.parametrize("place", PLACES)
def test_a_point_is_drawn_as_often_as_is_said(emitters: Emitters, lamp: int, place: str) -> None:
    rows, often, points = drawn(emitters, lamp, place, 50)
    some = rows >= 0
    x, normal = (np.array(part) for part in PLACES[place])
    again = np.full(50, np.nan)
    lamp_oftens(emitters, lamp, x, normal, np.maximum(rows, 0), points, again)
    if lamp == PANEL and place in BEHIND_THE_PANEL:
        assert not some.any()
        return
    assert some.any()
    np.testing.assert_allclose(again[some], often[some], rtol=1e-9)


@pytest.mark.parametrize("place", PLACES)
def test_all_pieces_are_drawn_once_together(emitters: Emitters, place: str) -> None:
    """Or less, where the walk ends before pieces that cannot be seen: seen from its end, most of a tube."""
    x, normal = (np.array(part) for part in PLACES[place])
    for lamp in (TUBE, PANEL):
        pieces = slice(emitters.piece_first[lamp], emitters.piece_first[lamp + 1])
        table, rows = emitters.piece[pieces], emitters.piece_row[pieces]
        start = table[:, :2] + 0.5 * table[:, 2:4]
        middle = emitters.corner[rows] + start[:, :1] * emitters.edge1[rows] + start[:, 1:] * emitters.edge2[rows]
        often = np.full(len(rows), np.nan)
        lamp_oftens(emitters, lamp, x, normal, rows, middle, often)
        whole = float(often @ table[:, SHARE])
        seen = light(emitters, place, rows, middle) > 0.0
        assert whole < 1.0 + 1e-9
        assert np.all(often[seen] > 0.0)
        assert whole > (0.2 if place == ASKANCE else 0.8) or not seen.any()


@pytest.mark.parametrize("lamp", [TUBE, PANEL])
@pytest.mark.parametrize("place", PLACES)
def test_light_in_the_mean_is_that_of_uniform_points(emitters: Emitters, lamp: int, place: str) -> None:
    count = sized(100_000, 400)
    rows, often, points = drawn(emitters, lamp, place, count)
    values = np.where(rows >= 0, light(emitters, place, rows, points) / np.where(often > 0.0, often, np.inf), 0.0)
    uniform, at, directions = np.full(count, -2), np.zeros((count, 3)), np.zeros((count, 3))
    emission_samples(emitters, lamp, np.random.default_rng(4).random((count, 5)), uniform, at, directions)
    others = light(emitters, place, uniform, at)
    error = np.sqrt((values.var() + others.var()) / count)
    # Eight comparisons of one normal number at 0.001 together: 3.8 errors.
    assert abs(values.mean() - others.mean()) <= 3.8 * error
    # A variance is a mean, too, of squares; the same 3.8 errors of its own.
    squares, those = (values - values.mean()) ** 2, (others - others.mean()) ** 2
    error = np.sqrt((squares.var() + those.var()) / count)
    assert values.var() <= others.var() + 3.8 * error + 1e-12
