"""Curved cross-sections: what their corners lie on, and how far each facet turns."""

import numpy as np
import pytest

from sim.geometry.mesh import FloatArray
from sim.reflectors.curve import TURN, involute, parabola, through


def headings(profile: FloatArray) -> FloatArray:
    """Direction of each facet [rad], without jumps."""
    steps = np.diff(profile, axis=0)
    angles: FloatArray = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    return angles


def inward(profile: FloatArray) -> FloatArray:
    """Unit normals on the left of a walk along a profile."""
    steps = np.diff(profile, axis=0)
    return np.stack([-steps[:, 1], steps[:, 0]], axis=1) / np.linalg.norm(steps, axis=1)[:, None]


PARABOLAS = [(0.01, 0.3), (0.03, 0.12), (0.1, 0.05), (0.02, 0.1)]


@pytest.mark.parametrize(("focus", "width"), PARABOLAS)
def test_corners_of_a_parabola_lie_as_far_from_focus_as_from_directrix(focus: float, width: float) -> None:
    points = parabola(focus, width)
    assert np.linalg.norm(points, axis=1) == pytest.approx(points[:, 1] + 2.0 * focus, rel=1e-12)
    assert (points[0, 0], points[-1, 0]) == (-0.5 * width, 0.5 * width)
    assert points[len(points) // 2].tolist() == [0.0, -focus]


@pytest.mark.parametrize(("focus", "width"), PARABOLAS)
@pytest.mark.parametrize("turn", [TURN, 0.05])
def test_rays_along_the_facing_come_back_through_the_focus(focus: float, width: float, turn: float) -> None:
    points = parabola(focus, width, turn)
    start, step, normal = points[:-1], np.diff(points, axis=0), inward(points)
    length = np.linalg.norm(step, axis=1)
    arriving = np.array([0.0, -1.0])
    leaving = arriving - 2.0 * (normal @ arriving)[:, None] * normal
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        foot = start + share * step
        miss = np.abs(leaving[:, 0] * foot[:, 1] - leaving[:, 1] * foot[:, 0])
        # Half the facet's length at its ends, nothing in its middle but what the chord lies off the curve.
        sagitta = (step[:, 0] ** 2).max() / (16.0 * focus)
        assert np.all(miss <= abs(share - 0.5) * length + 2.0 * sagitta)


@pytest.mark.parametrize("turn", [TURN, 0.02])
def test_no_facet_turns_more_than_it_may(turn: float) -> None:
    bowl = [(-0.05, 0.01), (-0.03, -0.012), (0.0, -0.02), (0.03, -0.012), (0.05, 0.01)]
    right = involute(0.009, 0.05, turn)
    for profile in (parabola(0.02, 0.1, turn), right[len(right) // 2 :], through(bowl, turn)):
        # Two facets that meet are each turned by half of theirs.
        assert np.abs(np.diff(headings(profile))).max() <= turn * (1.0 + 1e-3)


def test_shallow_curves_keep_some_facets() -> None:
    assert (17, 17) == (len(parabola(1.0, 0.001)), len(involute(0.1, 1e-9)))


@pytest.mark.parametrize(("radius", "width"), [(0.009, 0.05), (0.009, 0.02), (0.02, 2.0 * np.pi * 0.02)])
def test_normals_of_an_involute_are_tangent_to_its_circle(radius: float, width: float) -> None:
    points = involute(radius, width, turn=1e-3)
    middle = 0.5 * (points[1:] + points[:-1])
    normal = inward(points)
    from_axis = np.abs(middle[:, 0] * normal[:, 1] - middle[:, 1] * normal[:, 0])
    # Of the definition: a taut thread unwound from a circle, whose free end moves square to the thread. The facets at
    # the ridge are too short for their own middle to tell.
    assert from_axis == pytest.approx(np.full(len(middle), radius), rel=3e-3)
    assert points[0] == pytest.approx(points[-1] * [-1.0, 1.0])
    assert points[-1, 0] == pytest.approx(0.5 * width)
    assert points[len(points) // 2].tolist() == [0.0, -radius]


def test_thread_of_an_involute_is_as_long_as_the_arc_it_came_from() -> None:
    points = involute(0.01, 0.05)
    right = points[len(points) // 2 :]
    thread = np.sqrt(np.einsum("pk,pk->p", right, right) - 0.01**2)
    turned = thread / 0.01
    # The point of contact has gone round by the arc's length over the radius.
    x = 0.01 * np.sin(turned) - thread * np.cos(turned)
    assert right[:, 0] == pytest.approx(x, abs=1e-12)


def test_smooth_curve_goes_through_its_points() -> None:
    given = [(-0.05, 0.01), (-0.03, -0.012), (0.01, -0.02), (0.03, -0.012), (0.05, 0.01)]
    curve = through(given)
    for point in given:
        assert np.linalg.norm(curve - point, axis=1).min() < 1e-15
    assert through([(0.0, -0.01), (0.02, 0.0)]).tolist() == [[0.0, -0.01], [0.02, 0.0]]
    straight = through([(0.0, -0.01), (0.02, -0.01), (0.03, -0.01)])
    assert straight.tolist() == [[0.0, -0.01], [0.02, -0.01], [0.03, -0.01]]


def test_smooth_curve_through_points_of_a_circle_closes_in_on_it() -> None:
    radius, off = 0.03, []
    for pieces in (6, 12, 24, 48):
        angle = np.linspace(-2.6, -0.5, pieces + 1)
        curve = through([(radius * np.cos(a), radius * np.sin(a)) for a in angle])
        off.append(np.abs(np.hypot(*curve.T) - radius).max() / radius)
    # The slope of a parabola through three points is right to the second order, so the curve is to the third at least.
    assert off[0] < 2e-3
    assert np.log2(off[0] / off[-1]) / 3.0 > 2.9


def test_twin_points_are_refused() -> None:
    with pytest.raises(ValueError, match="points 2 and 3 of the profile are the same; leave one out"):
        through([(-0.01, -0.01), (0.0, -0.02), (0.0, -0.02), (0.01, -0.01)])
