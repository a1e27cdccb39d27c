"""What the wires of a woven screen do with the light that they catch.

Derivation, for wires that are matt (Lambertian) and round, fill f = d/p for each set:

- A set of wires seen at the angle t to the normal, in the plane across the wires, hides ``min(1, f / cos t)``. With the
  shares a and b of the two sets, ``a + b - a b`` of the light is caught (`direct_transmittance` gives the rest). Either
  set lies in front as often as behind, so ``h = a (1 - b/2)`` meets the first and ``b (1 - a/2)`` the second.
- The points that light finds on a wire are even across its diameter. A matt point sends light on by the cosine law
  about its own normal, so the light off a wire has a distribution in closed form. Along the wire's axis it is that of
  the cosine law, and around it, at an angle D from where the light came from, its density is
  ``((pi - D) cos D + sin D) / 8``. Integrated over the side that is lit this gives the known share ``1/2 +
  (pi/8) cos t`` to that side. The kernel of the two directions is symmetric: light off wires is reciprocal.
- On its way out it meets the neighbours where they overlap, and the other set where that lies in front: for light that
  goes on, the set was in front either when it came or when it goes, so that ``1 - (b + b')/2`` of a meeting ends
  freely, b and b' being hidden on the way in and out. For light that goes back, either both or none of the ways lie
  across the other set: ``(1 + (1 - b) (1 - b'))/2`` if the ways are independent, ``(1 + min(1 - b, 1 - b'))/2`` if
  light that came in by a gap finds the same gap on its way out. Rays through real wires lie between the two, and the
  mean of both is taken here. All is symmetric in the two directions. How much gets out depends on t and b alone.
- What is caught again goes round among wires, which then glow about evenly. Of evenly glowing wires the share q meets
  wires once more. In an isothermal enclosure a wire receives as much as it sends, so ``q = 1 - 2 B / (pi (f1 + f2))``,
  where B is the share of matt light from one side that the screen catches. The series of further bounces adds up to
  ``r^2 (1 - q) / (1 - q r)`` of the light caught twice, r the reflectance. White wires lose nothing, then.
- That light leaves in proportion to what a direction catches twice, which keeps it reciprocal.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sim.geometry.mesh import FloatArray

WIRE_NODES = 65
"""Nodes of `WireTables.clear`, uniform in the cosine of the angle across the wires, from 0 to 1."""
HIDDEN_NODES = 65
"""Nodes of the same, uniform in the share that the other set hides, from 0 to 1."""
_ANGLES = 480
_ALONG = 100


@dataclass(frozen=True)
class WireTables:
    """Numbers of a woven screen that hold for wires of any reflectance.

    Attributes
    ----------
    clear : (2, WIRE_NODES, HIDDEN_NODES) float
        Of the light off each set of wires, the share that meets no wire again, by the cosine of arrival across it and
        by what the other set hides.
    forward : (2, WIRE_NODES, HIDDEN_NODES) float
        The part of it that leaves on the far side.
    caught : float
        Share of matt light from one side that the wires catch.
    caught_twice : float
        The part of it that meets a wire again, off matt white wires.
    caught_forward : float
        The part of it that leaves on the far side after one wire, off white wires.
    again : float
        Chance of light off evenly glowing wires to meet one again, q.
    """

    clear: FloatArray
    forward: FloatArray
    caught: float
    caught_twice: float
    caught_forward: float
    again: float

    def beyond(self, reflectance: FloatArray) -> FloatArray:
        """Return what gets out, in the end, of light that meets a wire twice, by the wires' reflectance."""
        return reflectance**2 * (1.0 - self.again) / (1.0 - self.again * reflectance)


def caught_by_set(fill: tuple[float, float], direction: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shares of light that meet the wires along x and those along y first, (...) each.

    Parameters
    ----------
    fill : (float, float)
        Wire diameter over pitch, wires along x and wires along y.
    direction : (..., 3) float
        Unit vectors in the screen's frame, z its normal.
    """
    first, second = _hidden(fill, np.asarray(direction, dtype=np.float64))
    return first * (1.0 - 0.5 * second), second * (1.0 - 0.5 * first)


def _hidden(fill: tuple[float, float], s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shares that each set of wires hides by itself."""
    depth = np.maximum(np.abs(s[..., 2]), 1e-12)
    first = np.minimum(1.0, fill[0] * np.hypot(s[..., 1], s[..., 2]) / depth)
    second = np.minimum(1.0, fill[1] * np.hypot(s[..., 0], s[..., 2]) / depth)
    return first, second


def clear_shares(fill: tuple[float, float], direction: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shares of what meets each set first that leave without meeting a wire again, white wires, (...) each.

    Parameters as in `caught_by_set`.
    """
    s = np.asarray(direction, dtype=np.float64)
    clear, hidden, cosines = wire_tables(fill).clear, _hidden(fill, s), _across(s)
    return _at(clear[0], cosines[0], hidden[1]), _at(clear[1], cosines[1], hidden[0])


def scattered_shares(
    fill: tuple[float, float], reflectance: FloatArray | float, direction: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the shares of light that matt wires send back and on, by direction, (...) each.

    Parameters
    ----------
    fill : (float, float)
    reflectance : float or array that broadcasts with the directions
        Of the wires, 0 to 1.
    direction : (..., 3) float
        Unit vectors in the screen's frame.
    """
    rho = np.asarray(reflectance, dtype=np.float64)
    s = np.asarray(direction, dtype=np.float64)
    tables = wire_tables(fill)
    hits, hidden = caught_by_set(fill, s), _hidden(fill, s)
    cosines = _across(s)
    once, onward, twice = np.zeros(s.shape[:-1]), np.zeros(s.shape[:-1]), np.zeros(s.shape[:-1])
    for row in range(2):
        clear = _at(tables.clear[row], cosines[row], hidden[1 - row])
        once += hits[row] * clear
        onward += hits[row] * _at(tables.forward[row], cosines[row], hidden[1 - row])
        twice += hits[row] * (1.0 - clear)
    rest = 0.5 * tables.beyond(rho) * twice
    return rho * (once - onward) + rest, rho * onward + rest


def matt_shares(fill: tuple[float, float], reflectance: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shares of matt light that a screen sends back, and lets or sends through, (w,) each.

    Parameters
    ----------
    fill : (float, float)
    reflectance : (w,) float
        Of the wires, 0 to 1.
    """
    tables = wire_tables(fill)
    rest = 0.5 * tables.beyond(reflectance) * tables.caught_twice
    onward = reflectance * tables.caught_forward + rest
    back = reflectance * (tables.caught - tables.caught_twice - tables.caught_forward) + rest
    return back, 1.0 - tables.caught + onward


@lru_cache(maxsize=256)
def wire_tables(fill: tuple[float, float]) -> WireTables:
    """Return the tables of a screen, by the midpoint rule; good to 1e-4."""
    tables = [_clear(*fill)]
    tables.append(tables[0] if fill[0] == fill[1] else _clear(*fill[::-1]))
    matt = _matt_directions()
    hits, hidden, cosines = caught_by_set(fill, matt), _hidden(fill, matt), _across(matt)
    caught = float(np.mean(hits[0] + hits[1]))
    twice = onward = 0.0
    for row in range(2):
        clear, forward = _at(tables[row], cosines[row], hidden[1 - row])
        twice += float(np.mean(hits[row] * (1.0 - clear)))
        onward += float(np.mean(hits[row] * forward))
    again = 1.0 - 2.0 * caught / (np.pi * (fill[0] + fill[1]))
    both = np.stack(tables, axis=1)
    return WireTables(both[0], both[1], caught, twice, onward, again)


def _across(s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the cosines to the normal in the planes across the wires along x and along y."""
    depth = np.abs(s[..., 2])
    return tuple(depth / np.maximum(np.hypot(s[..., side], depth), 1e-12) for side in (1, 0))  # type: ignore[return-value]  # two


def _at(table: FloatArray, cosine: FloatArray, hidden: FloatArray) -> FloatArray:
    """Return values between the nodes of tables, (..., row, column), by cosine and hidden share, linear in both."""
    rows, columns = table.shape[-2:]
    at, on = cosine * (rows - 1), hidden * (columns - 1)
    i, j = np.minimum(at.astype(np.int64), rows - 2), np.minimum(on.astype(np.int64), columns - 2)
    u, v = at - i, on - j
    corners = [table[..., i + row, j + column] for row in (0, 1) for column in (0, 1)]
    low, high = corners[0] + v * (corners[1] - corners[0]), corners[2] + v * (corners[3] - corners[2])
    result: FloatArray = low + u * (high - low)
    return result


def _clear(own: float, other: float) -> FloatArray:
    """Return the share of light off wires of fill `own` that meets no wire again, and its part beyond, by node."""
    leaving = 2.0 * np.pi * (np.arange(_ANGLES) + 0.5) / _ANGLES
    depth = np.maximum(np.abs(np.cos(leaving)), 1e-12)
    # Along the axis: the middle of the unit disc's chord, x = sin a with density cos^2 a.
    angle = np.pi * ((np.arange(_ALONG) + 0.5) / _ALONG - 0.5)
    weight = np.cos(angle) ** 2 / (np.cos(angle) ** 2).sum()
    hidden = np.minimum(1.0, other * np.sqrt(1.0 + (np.tan(angle) / depth[:, None]) ** 2))
    far = np.cos(leaving) < 0.0
    before = np.linspace(0.0, 1.0, HIDDEN_NODES)
    # A chance that is straight in what is hidden on the way out is, in the mean, that of the mean.
    after = (hidden @ weight)[:, None]
    free = free_onward(before, after)
    gap = [np.minimum(1.0 - share, 1.0 - hidden[~far]) @ weight for share in before]
    free[~far] = free_back(before, after[~far], np.stack(gap, axis=1))
    free *= (np.minimum(1.0, depth / own)[:, None]) / (1.0 - 0.5 * before)
    arrival = np.arccos(np.linspace(0.0, 1.0, WIRE_NODES))
    turn = np.abs(leaving[None, :] - arrival[:, None])
    turn = np.minimum(turn, 2.0 * np.pi - turn)
    density = (np.pi - turn) * np.cos(turn) + np.sin(turn)
    density /= density.sum(axis=1, keepdims=True)
    return np.stack([density @ free, density @ np.where(far[:, None], free, 0.0)])


def free_onward(before: FloatArray, after: FloatArray) -> FloatArray:
    """Return the chance that the other set is met neither on the way to a wire nor on, by what it hides on each."""
    return 1.0 - 0.5 * (before + after)


def free_back(before: FloatArray, after: FloatArray, gap: FloatArray) -> FloatArray:
    """Return the same chance where light goes back: the mean of independent ways and of ways through one gap.

    Through one gap it gets where both ways are open: `gap`, the smaller of what the two leave.
    """
    result: FloatArray = 0.25 * ((1.0 + (1.0 - before) * (1.0 - after)) + (1.0 + gap))
    return result


def _matt_directions() -> FloatArray:
    """Return directions of equal power of matt light in a quarter of a half-space, (n, 3)."""
    n = 200
    middle = (np.arange(n) + 0.5) / n
    sine2, azimuth = (grid.ravel() for grid in np.meshgrid(middle, 0.5 * np.pi * middle))
    sine = np.sqrt(sine2)
    return np.stack([sine * np.cos(azimuth), sine * np.sin(azimuth), np.sqrt(1.0 - sine2)], axis=1)
