"""Light in a matt box by radiosity with exact configuration factors between all patches.

The equation is that of the textbooks (M. F. Cohen, J. R. Wallace, Radiosity and Realistic Image Synthesis, 1993):
irradiance is what comes straight from sources and what all patches send back. Nothing of it is Monte Carlo.
"""

from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt

from tests.support.view_factors import between_parallel, between_perpendicular

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
Triple = tuple[float, float, float]

WALLS = {"floor": (2, 0), "ceiling": (2, 1), "front": (1, 0), "back": (1, 1), "left": (0, 0), "right": (0, 1)}
"""Axis that each wall is square to, and whether it stands at zero or at the far end."""


class Room:
    """A box whose walls are cut into patches.

    Parameters
    ----------
    size : (float, float, float)
    reflectance : mapping
        Of each wall by name.
    cells : (int, int, int)
        Patches along x, y and z.
    """

    def __init__(self, size: Triple, reflectance: Mapping[str, float], cells: tuple[int, int, int]) -> None:
        self.size = size
        self.low, self.high, self.wall = _patches(size, cells)
        extent = self.high - self.low
        self.area = np.prod(np.where(extent > 0.0, extent, 1.0), axis=1)
        self.centre = 0.5 * (self.low + self.high)
        self.reflectance = np.array([reflectance[name] for name in WALLS])[self.wall]
        self.factors = self._factors()

    def _factors(self) -> FloatArray:
        """Factors from patch (row) to patch (column)."""
        exchange = np.zeros((len(self.area), len(self.area)))
        names = list(WALLS)
        for i in range(6):
            for j in range(i + 1, 6):
                rows, columns = np.flatnonzero(self.wall == i), np.flatnonzero(self.wall == j)
                both = self._between(rows, columns, WALLS[names[i]], WALLS[names[j]])
                exchange[np.ix_(rows, columns)] = both
                exchange[np.ix_(columns, rows)] = both.T
        return exchange / self.area[:, None]

    def _between(
        self, rows: npt.NDArray[np.int64], columns: npt.NDArray[np.int64], one: tuple[int, int], other: tuple[int, int]
    ) -> FloatArray:
        a, b = one[0], other[0]

        def ends(which: npt.NDArray[np.int64], axis: int, plane: float = 0.0) -> FloatArray:
            return np.sort(np.abs(np.stack([self.low[which, axis], self.high[which, axis]]) - plane), axis=0)

        if a == b:
            first, second = (axis for axis in range(3) if axis != a)
            mine = [ends(rows, axis)[:, :, None] for axis in (first, second)]
            theirs = [ends(columns, axis)[:, None, :] for axis in (first, second)]
            return between_parallel(*mine, *theirs, self.size[a])
        common = 3 - a - b
        to_other = ends(rows, b, other[1] * self.size[b])[:, :, None]
        to_one = ends(columns, a, one[1] * self.size[a])[:, None, :]
        return between_perpendicular(
            ends(rows, common)[:, :, None], to_other, ends(columns, common)[:, None, :], to_one
        )

    def patch_means(self, field: Callable[[FloatArray, FloatArray], FloatArray]) -> FloatArray:
        """Means over the patches, (n,), of a function of points and inward normals, both (m, 3).

        Gauss's rule of two points each way.
        """
        total = np.zeros(len(self.area))
        for wall, (axis, far) in enumerate(WALLS.values()):
            rows = self.wall == wall
            normal = np.zeros((int(rows.sum()), 3))
            normal[:, axis] = -1.0 if far else 1.0
            half = 0.5 * (self.high - self.low)[rows] / np.sqrt(3.0)
            first, second = (other for other in range(3) if other != axis)
            for s in (-1.0, 1.0):
                for t in (-1.0, 1.0):
                    at = self.centre[rows].copy()
                    at[:, first] += s * half[:, first]
                    at[:, second] += t * half[:, second]
                    total[rows] += 0.25 * field(at, normal)
        return total

    def irradiance(self, direct: FloatArray) -> FloatArray:
        """Irradiance of all patches from what comes straight from sources, (n,) [W/m2]."""
        return np.linalg.solve(np.eye(len(direct)) - self.factors * self.reflectance, direct)

    def within(self, wall: str, region: tuple[float, float, float, float] | None = None) -> BoolArray:
        """Patches of a wall, or those whose centres lie in a region (u0, u1, v0, v1) of it."""
        axis = WALLS[wall][0]
        chosen = self.wall == list(WALLS).index(wall)
        if region is None:
            return chosen
        u, v = (self.centre[:, other] for other in range(3) if other != axis)
        return chosen & (u > region[0]) & (u < region[1]) & (v > region[2]) & (v < region[3])

    def mean(self, values: FloatArray, patches: BoolArray) -> float:
        """Area mean over some patches."""
        return float((values * self.area)[patches].sum() / self.area[patches].sum())


def _patches(size: Triple, cells: tuple[int, int, int]) -> tuple[FloatArray, FloatArray, npt.NDArray[np.int64]]:
    lows, highs, walls = [], [], []
    for number, (axis, far) in enumerate(WALLS.values()):
        steps = [np.arange(count) for count in cells]
        steps[axis] = np.array([far])
        index = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)
        width = np.array(size) / np.array(cells)
        low = index * width
        high = low + width
        low[:, axis] = high[:, axis] = far * size[axis]
        lows.append(low)
        highs.append(high)
        walls.append(np.full(len(index), number))
    return np.concatenate(lows), np.concatenate(highs), np.concatenate(walls)


Values = dict[str, float]


def converged(solve: Callable[[tuple[int, int, int]], Values], cells: tuple[int, int, int]) -> Values:
    """Values by name at vanishing patch size: two sizes, and the error taken as one of second order (Richardson)."""
    nx, ny, nz = cells
    coarse, fine = solve(cells), solve((2 * nx, 2 * ny, 2 * nz))
    return {name: fine[name] + (fine[name] - coarse[name]) / 3.0 for name in fine}


def panel_room(
    size: Triple,
    reflectance: Mapping[str, float],
    panel: tuple[float, float, float, float],
    power: float,
    cells: tuple[int, int, int],
    panel_reflectance: float | None = None,
    region: tuple[float, float, float, float] | None = None,
) -> Values:
    """Mean irradiance of each wall of a box with a matt panel let into its ceiling [W/m2].

    Parameters
    ----------
    panel : (x0, x1, y0, y1)
        On lines between patches.
    panel_reflectance : float, optional
        That of the ceiling by default.
    region : (x0, x1, y0, y1), optional
        Of the floor, told as ``region``.
    """

    def solve(count: tuple[int, int, int]) -> Values:
        room = Room(size, reflectance, count)
        lit = room.within("ceiling", panel)
        if panel_reflectance is not None:
            room.reflectance[lit] = panel_reflectance
        exitance = np.where(lit, power / room.area[lit].sum(), 0.0)
        total = room.irradiance(room.factors @ exitance)
        means = {wall: room.mean(total, room.within(wall)) for wall in WALLS}
        means["panel"] = room.mean(total, lit)
        if region is not None:
            means["region"] = room.mean(total, room.within("floor", region))
        return means

    return converged(solve, cells)
