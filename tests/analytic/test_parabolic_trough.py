"""A parabolic trough with a tube at its focus: the closed form of its light, and how fast facets come to it.

Light along the axis of a parabola goes through its focus; what is off by an angle passes the focus at that angle's sine
times the distance. So the beam of a tube of radius r spreads, off each point of the mirror, by asin(r / its distance
from the focus). See R. Winston, J. C. Minano, P. Benitez, Nonimaging Optics, 2005, chapter 1.
"""

from pathlib import Path

import numpy as np
import pytest

from sim.reflectors.curve import TURN, involute, parabola
from tests.support.answers import near, traced_text
from tests.support.scene_blocks import point, scene, tube
from tests.support.trough_light import FloatArray, exitance_to_irradiance, sines_by_facets, sines_by_parabola

FOCUS, WIDTH = 0.02, 0.1
ACROSS = np.linspace(0.0, 0.08, 41)


def departures(radius: float, distance: float, turn: float) -> FloatArray:
    """Irradiance off facets less that off the parabola at places across the beam, over its maximum."""
    profile = parabola(FOCUS, WIDTH, turn)
    curve = np.array([sines_by_parabola(radius, FOCUS, WIDTH, distance, y) for y in ACROSS])
    flat = np.array([sines_by_facets(profile, radius, distance, y) for y in ACROSS])
    departed: FloatArray = (flat - curve) / curve.max()
    return departed


@pytest.mark.parametrize("distance", [0.1, 0.3, 0.6])
@pytest.mark.parametrize(("radius", "at_worst", "mean"), [(0.008, 0.003, 0.001), (0.001, 0.02, 0.005)])
def test_facets_of_the_default_turn_give_the_beam(radius: float, at_worst: float, mean: float, distance: float) -> None:
    off = departures(radius, distance, TURN)
    assert np.abs(off).max() < at_worst
    assert np.sqrt(np.mean(off**2)) < mean


@pytest.mark.parametrize("radius", [0.008, 0.001])
def test_error_falls_at_least_with_the_turn(radius: float) -> None:
    # A facet throws light astray by up to half its turn, which moves the beam's edges by as much: the first order.
    # Where every place sees whole facets lit, errors of the two halves of a facet cancel, and it is the second.
    turns = np.radians([4.0, 2.0, 1.0, 0.5, 0.25])
    errors = [np.sqrt(np.mean([np.mean(departures(radius, d, turn) ** 2) for d in (0.1, 0.3, 0.6)])) for turn in turns]
    order = np.polyfit(np.log(turns), np.log(errors), 1)[0]
    assert 0.9 < order < 2.3


def test_beam_of_a_thin_tube_is_as_wide_as_the_mirror() -> None:
    # In the limit of r to 0 the beam is that of parallel light: bright in front of the mirror, dark beside it.
    radius, distance = 2e-5, 0.3
    within, beyond = (sines_by_parabola(radius, FOCUS, WIDTH, distance, y) for y in (0.045, 0.052))
    # The fan of half angle r / rho off the point straight behind: its sines span twice that.
    rho = np.hypot(0.045, 0.045**2 / (4 * FOCUS) - FOCUS)
    assert within == pytest.approx(2.0 * radius / rho, rel=0.01)
    assert beyond == 0.0


def test_program_gives_the_beam(tmp_path: Path) -> None:
    # So long a tube ends nowhere for these meters: with half its length at H, a share of about (d / H)^3 is missing.
    radius, half = 0.004, 6.0
    power = 10.0
    mirror = (
        f'[[reflectors]]\nname = "mirror"\nlamp = "tube"\nprofile = "parabola"\nfocus = "{FOCUS} m"\n'
        f'width = "{WIDTH} m"\nlaw = {{ kind = "mirror", reflectance = 0.8 }}'
    )
    places = [(d, y) for d in (0.1, 0.3) for y in (0.0, 0.02, 0.05)]
    text = scene(
        "A beam",
        tube((-half, 0, 0), (half, 0, 0), radius, power),
        mirror,
        *(point(f"{d} {y}", (0.0, y, -d)) for d, y in places),
        histories=3_000_000,
    )
    answer = traced_text(text, tmp_path)
    unit = exitance_to_irradiance(power / (2.0 * half), radius)
    for distance, across in places:
        half_angle = np.arcsin(radius / np.hypot(distance, across))
        to_tube = np.arctan2(across, distance)
        direct = np.sin(to_tube + half_angle) - np.sin(to_tube - half_angle)
        expected = unit * (direct + 0.8 * sines_by_parabola(radius, FOCUS, WIDTH, distance, across))
        # One percent is for the prism of 192 sides and the facets.
        assert expected == near(answer.sensor(f"{distance} {across}"), 0.01), (distance, across)


@pytest.mark.parametrize("width", [0.03, 0.05])
def test_no_light_of_the_tube_comes_back_off_an_involute(width: float) -> None:
    # A true involute of the tube's own circle returns no ray to it (Winston, Minano & Benitez, chapter 4): rays from
    # all of the lamp that a point of the mirror sees, for all points of one branch.
    radius = 0.008
    profile = involute(radius, width)
    branch = profile[len(profile) // 2 :]
    middle, step = 0.5 * (branch[1:] + branch[:-1]), np.diff(branch, axis=0)
    normal = np.stack([-step[:, 1], step[:, 0]], axis=1) / np.linalg.norm(step, axis=1)[:, None]
    to_axis = np.arctan2(-middle[:, 1], -middle[:, 0])
    reach = np.arcsin(np.minimum(1.0, radius / np.hypot(*middle.T)))
    for share in np.linspace(-1.0, 1.0, 21):
        angle = to_axis + share * reach
        arriving = -np.stack([np.cos(angle), np.sin(angle)], axis=1)
        leaving = arriving - 2.0 * np.einsum("pk,pk->p", arriving, normal)[:, None] * normal
        nearest = np.abs(leaving[:, 0] * middle[:, 1] - leaving[:, 1] * middle[:, 0])
        ahead = np.einsum("pk,pk->p", leaving, -middle) > 0.0
        # Each facet is turned by half of TURN at its ends, so what grazes the tube may miss its place by that much.
        allowed = radius - TURN * np.hypot(*middle.T)
        assert np.all((nearest >= allowed) | ~ahead)
