"""Emission: a photon starts on a lit triangle of its lamp, which the tree is told that it leaves."""

import numpy as np
import pytest

from sim.transport.emission import emit, scramble_key, stream_of
from sim.transport.photons import EMISSION
from sim.transport.triangles import lamp_of
from tests.support.setups import setup_of
from tests.support.two_lamps import RICHEST, SCENES

pytestmark = pytest.mark.tiny


@pytest.mark.parametrize("lamp", [0, 1])
def test_photons_start_in_the_plane_of_the_triangle_that_is_told(lamp: int) -> None:
    compiled = setup_of(SCENES[RICHEST], plain=True).compiled
    emitters, surfaces, geometry = compiled.model.emitters, compiled.model.surfaces, compiled.geometry
    key = scramble_key(5, stream_of(0, lamp), EMISSION)
    o, d = np.zeros(3), np.zeros(3)
    for index in range(40):
        row = emit(emitters, lamp, index, key, o, d)
        assert lamp_of(surfaces, row) == lamp
        corner = geometry.vertices[geometry.faces[row, 0]]
        assert abs((o - corner) @ surfaces.normal[row, :3]) < 1e-12
        assert d @ surfaces.normal[row, :3] > 0.0
