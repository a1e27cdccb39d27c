"""Curved cross-sections of reflectors, as corners on the curve: across the lamp and towards its facing.

A facet is flat, so light off a mirror goes astray by up to its turn, and a small lamp is seen in stripes. Facets are
therefore cut by the angle through which the curve turns along each. With a parabola of focus 2 cm and width 10 cm, the
irradiance of the reflected light at 10 to 60 cm lies off the closed form by, of its maximum, at the worst place (and in
root mean square):

=============  =====================  =====================
turn a facet   tube of radius 8 mm    tube of radius 1 mm
=============  =====================  =====================
2.6 deg        15 % (3.5 %)           19 % (9 %)
1.3 deg        9 % (2.0 %)            7 % (3.0 %)
0.6 deg        4 % (0.6 %)            3 % (0.9 %)
0.25 deg       0.2 % (0.03 %)         1.6 % (0.3 %)
=============  =====================  =====================

The error falls with the turn, for the wider lamp with its square; ``tests/analytic/test_parabolic_trough.py`` holds it.
Facets of a quarter degree trace as fast as of 2.6 degrees, since a ray looks for them in a tree.
"""

from collections.abc import Sequence

import numpy as np

from sim.geometry.mesh import FloatArray

TURN = float(np.radians(0.25))
"""Largest turn along a facet of a reflector that is swept along its axis [rad]."""
LEAST_FACETS = 16
_SAMPLES = 512
"""Places on a piece between two given points at which its turn is looked at."""


def parabola(focus: float, width: float, turn: float = TURN) -> FloatArray:
    """Return the parabola z = x^2 / (4 focus) with its focus on the lamp's axis, (p, 2) [m].

    Parameters
    ----------
    focus, width : float [m]
        Distance of the vertex behind the axis, and the opening across.
    turn : float [rad]
        Of a facet, at most.

    Notes
    -----
    Corners lie on the curve at even steps across, so each facet has the parabola's slope at its middle: a ray along the
    facing that meets it there goes through the focus, and no ray misses it by more than half the facet's length. The
    curve turns fastest at its vertex, by step / (2 focus), which sets the number of facets (even, so that the vertex is
    a corner).
    """
    facets = max(LEAST_FACETS, 2 * int(np.ceil(width / (4.0 * focus * turn))))
    x = np.linspace(-0.5 * width, 0.5 * width, facets + 1)
    x[facets // 2] = 0.0
    return np.stack([x, x * x / (4.0 * focus) - focus], axis=1)


def involute(radius: float, width: float, turn: float = TURN) -> FloatArray:
    """Return both branches of the involute of a circle about the lamp's axis, from lip to lip, (p, 2) [m].

    Parameters
    ----------
    radius, width : float [m]
        Of the circle, and the opening across, at most 2 pi times the radius.
    turn : float [rad]
        Of a facet, at most.

    Raises
    ------
    ValueError
        If the involute never gets as wide as that.

    Notes
    -----
    The branches are (r (sin t - t cos t), -r (cos t + t sin t)) and its mirror image. Every normal is tangent to the
    circle, so a ray from within the circle leaves the mirror on the other side of the tangent: no light comes back to
    the lamp after one reflection. See R. Winston, J. C. Minano, P. Benitez, Nonimaging Optics, 2005, chapter 4, on
    tubular absorbers, read backwards. The curve turns by t, so corners at even steps of t turn alike.
    """
    most = 2.0 * np.pi * radius
    if width > most * (1.0 + 1e-12):
        raise ValueError(
            f"the involute of a circle of radius {100.0 * radius:g} cm is {100.0 * most:.4g} cm wide at most, "
            f"not {100.0 * width:g} cm; raise 'radius' or lessen 'width'"
        )
    low, high = 0.0, np.pi
    for _ in range(60):  # the half width grows with t all the way, and 60 halvings leave rounding alone
        middle = 0.5 * (low + high)
        if radius * (np.sin(middle) - middle * np.cos(middle)) < 0.5 * width:
            low = middle
        else:
            high = middle
    t = np.linspace(0.0, high, max(LEAST_FACETS // 2, int(np.ceil(high / turn))) + 1)
    right = radius * np.stack([np.sin(t) - t * np.cos(t), -(np.cos(t) + t * np.sin(t))], axis=1)
    right[-1, 0] = 0.5 * width
    return np.concatenate([right[:0:-1] * [-1.0, 1.0], right])


def through(points: Sequence[tuple[float, float]], turn: float = TURN) -> FloatArray:
    """Return corners on a smooth curve through points, (p, 2) [m].

    Parameters
    ----------
    points : sequence of (across, towards facing) [m]
        In order; two of them make a straight line.
    turn : float [rad]
        Of a facet, at most.

    Raises
    ------
    ValueError
        If two points that follow each other are the same.

    Notes
    -----
    Between two points runs a cubic whose slope at each is that of the parabola through it and its neighbours, over
    steps that count as the square root of their length: the centripetal Catmull-Rom curve, which makes no loops and no
    cusps (C. Yuksel, S. Schaefer, J. Keyser, Parameterization and applications of Catmull-Rom curves, Computer-Aided
    Design 43, 2011). At the two ends the slope is that of the parabola through the last three points.
    """
    knots = np.array(points, dtype=np.float64)
    chord = np.linalg.norm(np.diff(knots, axis=0), axis=1)
    twins = np.flatnonzero(chord == 0.0)
    if len(twins):
        raise ValueError(f"points {twins[0] + 1} and {twins[0] + 2} of the profile are the same; leave one out")
    if len(knots) == 2:
        return knots
    step = np.sqrt(chord)
    slopes = _slopes(knots, step)
    pieces = [_piece(knots[i : i + 2], step[i] * slopes[i : i + 2], turn)[1:] for i in range(len(step))]
    return np.concatenate([knots[:1], *pieces])


def _slopes(knots: FloatArray, step: FloatArray) -> FloatArray:
    """Return the slope at each knot over the parameter, (n, 2), from parabolas through three neighbours."""
    rise = np.diff(knots, axis=0) / step[:, None]
    before, after = step[:-1, None], step[1:, None]
    inner = (after * rise[:-1] + before * rise[1:]) / (before + after)
    return np.concatenate([2.0 * rise[:1] - inner[:1], inner, 2.0 * rise[-1:] - inner[-1:]])


def _piece(ends: FloatArray, slopes: FloatArray, turn: float) -> FloatArray:
    """Return corners on the cubic between two points with the given slopes over 0 to 1, alike in their turn."""
    s = np.linspace(0.0, 1.0, _SAMPLES + 1)
    heading = _cubic(ends, slopes, s, derivative=True)
    angle = np.unwrap(np.arctan2(heading[:, 1], heading[:, 0]))
    turned = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(angle)))])
    facets = max(1, int(np.ceil(turned[-1] / turn)))
    if facets > 1:
        s = np.interp(np.linspace(0.0, turned[-1], facets + 1), turned, s)
    else:
        s = s[[0, -1]]
    return _cubic(ends, slopes, s)


def _cubic(ends: FloatArray, slopes: FloatArray, s: FloatArray, *, derivative: bool = False) -> FloatArray:
    """Return Hermite's cubic at places 0 to 1, or its derivative, (n, 2)."""
    if derivative:
        rows = (6 * s * s - 6 * s, 3 * s * s - 4 * s + 1, 6 * s - 6 * s * s, 3 * s * s - 2 * s)
    else:
        rows = (2 * s**3 - 3 * s * s + 1, s**3 - 2 * s * s + s, 3 * s * s - 2 * s**3, s**3 - s * s)
    h00, h10, h01, h11 = (row[:, None] for row in rows)
    values: FloatArray = h00 * ends[0] + h10 * slopes[0] + h01 * ends[1] + h11 * slopes[1]
    return values
