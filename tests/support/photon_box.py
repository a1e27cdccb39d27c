"""A tube lamp in a matt box by a photon tracer of its own: an exact cylinder, six planes, and nothing of the program.

Each photon keeps a weight instead of being absorbed, and ends by roulette (J. Spanier, E. M. Gelbard, Monte Carlo
Principles and Neutron Transport Problems, 1969).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.support.radiosity import WALLS

FloatArray = npt.NDArray[np.float64]
Triple = tuple[float, float, float]
TOUCH = 1e-9


@dataclass(frozen=True)
class TubeBox:
    """A box with a tube along x.

    Attributes
    ----------
    size : (float, float, float) [m]
    reflectance : mapping
        Of each wall by name.
    middle : (float, float, float) [m]
        Of the tube.
    length, radius : float [m]
    body : float
        Reflectance of the tube; its ends are dark and black.
    """

    size: Triple
    reflectance: Mapping[str, float]
    middle: Triple
    length: float
    radius: float
    body: float

    def irradiance(self, power: float, photons: int, batches: int, seed: int) -> dict[str, tuple[float, float]]:
        """Mean irradiance of each wall and its standard error [W/m2]."""
        rng = np.random.default_rng(seed)
        size = np.array(self.size)
        areas = np.array([np.prod(size) / size[axis] for axis, _ in WALLS.values()])
        tallies = np.array([self._batch(photons, rng) for _ in range(batches)]) * power / photons / areas
        means, errors = tallies.mean(axis=0), tallies.std(axis=0, ddof=1) / np.sqrt(batches)
        return {name: (float(means[i]), float(errors[i])) for i, name in enumerate(WALLS)}

    def _batch(self, photons: int, rng: np.random.Generator) -> FloatArray:
        """Weight that arrives at each wall, (6,)."""
        tally = np.zeros(6)
        rho = np.array([self.reflectance[name] for name in WALLS])
        angle = rng.uniform(0.0, 2.0 * np.pi, photons)
        normal = np.stack([np.zeros(photons), np.cos(angle), np.sin(angle)], axis=1)
        o = np.array(self.middle) + self.radius * normal
        o[:, 0] += rng.uniform(-0.5, 0.5, photons) * self.length
        d = _matt(normal, rng)
        weight = np.ones(photons)
        while len(weight):
            t_wall, wall = self._wall(o, d)
            t_tube, on_side = self._tube(o, d)
            tube = t_tube < t_wall
            o = o + np.where(tube, t_tube, t_wall)[:, None] * d
            tally += np.bincount(wall[~tube], weights=weight[~tube], minlength=6)
            weight = weight * np.where(tube, np.where(on_side, self.body, 0.0), rho[wall])
            lives = rng.uniform(size=len(weight)) < np.minimum(1.0, weight / 0.2)
            weight = np.maximum(weight, 0.2)[lives]
            o = o[lives]
            d = _matt(self._normals(o, wall[lives], tube[lives]), rng)
        return tally

    def _wall(self, o: FloatArray, d: FloatArray) -> tuple[FloatArray, npt.NDArray[np.int64]]:
        distance = np.full((len(o), 6), np.inf)
        for row, (axis, far) in enumerate(WALLS.values()):
            towards = d[:, axis] > 0.0 if far else d[:, axis] < 0.0
            np.divide(far * self.size[axis] - o[:, axis], d[:, axis], out=distance[:, row], where=towards)
        nearest = distance.argmin(axis=1)
        return distance[np.arange(len(o)), nearest], nearest

    def _tube(self, o: FloatArray, d: FloatArray) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
        """Distance to the tube, infinite where it is missed, and whether its side is hit rather than an end."""
        p = o - np.array(self.middle)
        a = d[:, 1] ** 2 + d[:, 2] ** 2
        b = p[:, 1] * d[:, 1] + p[:, 2] * d[:, 2]
        c = p[:, 1] ** 2 + p[:, 2] ** 2 - self.radius**2
        root = b * b - a * c
        side = np.where(root > 0.0, (-b - np.sqrt(np.maximum(root, 0.0))) / a, np.inf)
        along = p[:, 0] + np.where(np.isfinite(side), side, 0.0) * d[:, 0]
        side[(side < TOUCH) | (np.abs(along) > 0.5 * self.length)] = np.inf
        end = (-0.5 * np.sign(d[:, 0]) * self.length - p[:, 0]) / d[:, 0]
        off = p[:, 1:] + end[:, None] * d[:, 1:]
        end[(end < TOUCH) | ((off**2).sum(axis=1) > self.radius**2)] = np.inf
        return np.minimum(side, end), side <= end

    def _normals(self, o: FloatArray, wall: npt.NDArray[np.int64], tube: npt.NDArray[np.bool_]) -> FloatArray:
        inward = np.zeros((6, 3))
        for row, (axis, far) in enumerate(WALLS.values()):
            inward[row, axis] = -1.0 if far else 1.0
        normals = inward[wall]
        out = o[tube] - np.array(self.middle)
        out[:, 0] = 0.0
        normals[tube] = out / self.radius
        return normals


def _matt(normal: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Directions by the cosine law: the normal plus a point of the unit sphere."""
    ball = rng.normal(size=normal.shape)
    line = normal + ball / np.linalg.norm(ball, axis=1)[:, None]
    unit: FloatArray = line / np.linalg.norm(line, axis=1)[:, None]
    return unit
