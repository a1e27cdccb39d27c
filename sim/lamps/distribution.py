"""Luminous or radiant intensity by direction, as photometric files state it and lamps use it."""

from dataclasses import dataclass

import numpy as np

from sim.geometry.mesh import FloatArray

FRONT = 0.5 * np.pi
"""What leaves a flat aperture leaves within this angle of its facing [rad]."""
BEAM_NODES = (257, 65)
"""Angles of a closed law: within four half beams, where it falls to 2^-16 of its peak or less, and beyond."""


@dataclass(frozen=True)
class Distribution:
    """Intensity by polar angle and azimuth (C-gamma coordinates), linear in both between its nodes.

    Attributes
    ----------
    polar : (n,) float [rad]
        Angle from the facing (gamma), increasing, at least two. The intensity is zero outside its range.
    azimuth : (m,) float [rad]
        Angle of the half-plane (C), increasing from 0 to 2 pi, both included.
    intensity : (n, m) float
        In any unit per steradian; not negative.
    """

    polar: FloatArray
    azimuth: FloatArray
    intensity: FloatArray

    @property
    def power(self) -> float:
        """Integral over all directions, in the unit of intensity times steradian; exact for the interpolated law."""
        return float(self._ring_powers().sum())

    @property
    def share_behind(self) -> float:
        """Part of the power at more than 90 degrees from the facing."""
        if self.polar[-1] <= FRONT:
            return 0.0
        return 1.0 - (self.front().power if self.polar[0] < FRONT else 0.0) / self.power

    def at(self, polar: FloatArray, azimuth: FloatArray) -> FloatArray:
        """Return the intensity in directions, as (k,) arrays of angles [rad]."""
        row, s = _bracket(self.polar, polar)
        column, t = _bracket(self.azimuth, np.mod(azimuth, 2.0 * np.pi))
        here, there = self.intensity[row], self.intensity[row + 1]
        rows = np.arange(len(row))
        low = (1.0 - t) * here[rows, column] + t * here[rows, column + 1]
        high = (1.0 - t) * there[rows, column] + t * there[rows, column + 1]
        outside = (polar < self.polar[0]) | (polar > self.polar[-1])
        found: FloatArray = np.where(outside, 0.0, (1.0 - s) * low + s * high)
        return found

    def front(self) -> "Distribution":
        """Return what of it lies within 90 degrees of the facing."""
        if self.polar[-1] <= FRONT:
            return self
        inner = self.polar < FRONT
        edge = np.stack([np.interp(FRONT, self.polar, column) for column in self.intensity.T])
        return Distribution(
            np.append(self.polar[inner], FRONT), self.azimuth, np.vstack([self.intensity[inner], edge[None, :]])
        )

    def around(self) -> FloatArray:
        """Return the integral of intensity over azimuth from 0 to each node, at each polar angle, (n, m)."""
        steps = 0.5 * (self.intensity[:, 1:] + self.intensity[:, :-1]) * np.diff(self.azimuth)
        whole: FloatArray = np.concatenate([np.zeros((len(self.polar), 1)), np.cumsum(steps, axis=1)], axis=1)
        return whole

    def below(self) -> FloatArray:
        """Return the power within each polar angle, (n,)."""
        within: FloatArray = np.concatenate([np.zeros(1), np.cumsum(self._ring_powers())])
        return within

    def _ring_powers(self) -> FloatArray:
        """Return the power between neighbouring polar angles: the integral of a linear function times the sine."""
        ring = self.around()[:, -1]
        low, high = self.polar[:-1], self.polar[1:]
        slope = np.diff(ring) / (high - low)
        # By parts: the antiderivative of (a + b t) sin t is -(a + b t) cos t + b sin t.
        powers: FloatArray = ring[:-1] * np.cos(low) - ring[1:] * np.cos(high) + slope * (np.sin(high) - np.sin(low))
        return np.maximum(powers, 0.0)


def beam_distribution(beam: float) -> Distribution:
    """Return the law cos^n whose intensity at half the beam angle is half of its peak, rotationally symmetric.

    Parameters
    ----------
    beam : float [rad]
        Full angle between the directions of half intensity; 120 degrees makes n = 1, the cosine law.
    """
    half = 0.5 * beam
    exponent = np.log(0.5) / np.log(np.cos(half))
    near = min(4.0 * half, FRONT)
    polar = np.linspace(0.0, near, BEAM_NODES[0])
    if near < FRONT:
        polar = np.append(polar, np.linspace(near, FRONT, BEAM_NODES[1])[1:])
    intensity = np.maximum(np.cos(polar), 0.0) ** exponent
    return Distribution(polar, np.array([0.0, 2.0 * np.pi]), np.stack([intensity, intensity], axis=1))


def _bracket(nodes: FloatArray, values: FloatArray) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], FloatArray]:
    """Return the node below each value and how far the value lies towards the next, 0 to 1."""
    row = np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, len(nodes) - 2)
    share: FloatArray = np.clip((values - nodes[row]) / (nodes[row + 1] - nodes[row]), 0.0, 1.0)
    return row, share
