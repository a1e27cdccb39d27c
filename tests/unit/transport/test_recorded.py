"""Ways of single photons: those that are traced, corner by corner on surfaces, straight in between."""

import numpy as np
import pytest

from sim.transport.photons import Sums, trace_photons
from sim.transport.recorded import record_photons
from tests.support.setups import setup_of
from tests.support.two_lamps import SCENES

pytestmark = pytest.mark.tiny

COUNT, STEPS, AWAY = 24, 40, 0.5
TUBE = np.array([0.15, 0.2, 0.3])
"""Where the axis of the tube of these scenes begins [m]; it ends at 60, 30, 30 cm."""


def recorded(name: str, lamp: int = 0) -> list[np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    model = setup_of(SCENES[name]).compiled.model
    corners, lengths = np.zeros((COUNT, STEPS, 3)), np.zeros(COUNT, dtype=np.int64)
    record_photons(model, lamp, 3, COUNT, 11, AWAY, corners, lengths)
    return [way[:length] for way, length in zip(corners, lengths, strict=True)]


def test_ways_start_on_the_lamp_and_stay_in_a_closed_room() -> None:
    ways = recorded("matt")
    for way in ways:
        assert len(way) >= 2
        # The tube of the scene, of flat sides about its circle of 2 cm.
        along = (np.array([0.6, 0.3, 0.3]) - TUBE) / np.linalg.norm(np.array([0.6, 0.3, 0.3]) - TUBE)
        assert 0.02 == pytest.approx(float(np.linalg.norm(np.cross(way[0] - TUBE, along))), rel=0.02)
    inside = np.concatenate(ways)
    size = setup_of(SCENES["matt"]).compiled.geometry.vertices
    assert np.all((inside > size.min(axis=0) - 1e-9) & (inside < size.max(axis=0) + 1e-9))


def test_they_are_the_photons_that_are_traced() -> None:
    # A photon's first corner lies in the cell that takes its weight: the same cells are lit by both.
    made = setup_of(SCENES["matt"], plain=True)
    bands = made.compiled.model.emitters.live.shape[1]
    rooms = (made.compiled.cells, len(made.compiled.effort), len(made.compiled.surface_names))
    cells, crossed, absorbed = (np.zeros((count, bands)) for count in rooms)
    sums = Sums(cells, crossed, absorbed, np.zeros(bands), np.zeros(bands), np.zeros_like(absorbed))
    trace_photons(made.compiled.model, 0, 3, 0, COUNT, 11, sums)
    lit = np.flatnonzero(cells.sum(axis=1))
    centres = made.compiled.centre[: made.compiled.cells]
    for way in recorded("matt"):
        nearest = np.linalg.norm(centres[lit] - way[1], axis=1).min()
        assert nearest < 0.5 * 0.25 * np.sqrt(2.0) + 1e-6, "within the cell of 25 cm that holds it"


def test_what_escapes_is_followed_some_way() -> None:
    ways = [way for lamp in (0, 1) for way in recorded("hole", lamp)]
    size = setup_of(SCENES["hole"]).compiled.geometry.vertices
    out = [way for way in ways if np.any((way[-1] < size.min(axis=0) - 1e-6) | (way[-1] > size.max(axis=0) + 1e-6))]
    assert out, "the seed must send some through the hole"
    for way in out:
        assert AWAY == pytest.approx(float(np.linalg.norm(way[-1] - way[-2])))
