"""Reader of EULUMDAT files: intensities of a lamp by direction, per 1000 units of its stated flux."""

from pathlib import Path

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.lamps.distribution import Distribution
from sim.lamps.photometric import (
    Entry,
    distribution,
    fault,
    increasing,
    intensities,
    mirrored,
    number,
    polar_angles,
    read_lines,
    whole_number,
)

SYMMETRIES = 4
_LAMP_SETS = 26
"""Line with the count of lamp sets; six lines for each follow."""


def read_eulumdat(path: Path) -> Distribution:
    """Return the intensities that an EULUMDAT file states, scaled to its flux [cd, or W/sr].

    Parameters
    ----------
    path : Path
        A file whose half-planes C and angles gamma are listed, as the format asks.

    Raises
    ------
    ValueError
        One line that names the file, where it can the line, what is wrong and what would be right.
    OSError
        If the file cannot be read.

    Notes
    -----
    Values are per 1000 lm of the flux of all lamps; the conversion factor of line 24 is applied. Symmetry 0: all
    half-planes are there; 1: one stands for all; 2: C 0 to 180, the rest mirrored; 3: C 270 through 0 to 90; 4: C 0
    to 90.

    References
    ----------
    A. Stockmar, EULUMDAT, ein Leuchtendatenformat fuer den europaeischen Beleuchtungsplaner, Tagungsband Licht 90,
    1990 (order of lines from memory).
    """
    lines = _Lines(path)
    symmetry = lines.whole(3, "the symmetry", 0)
    if symmetry > SYMMETRIES:
        raise fault(path, 3, f"the symmetry is {symmetry}; it is 0, 1, 2, 3 or 4")
    planes = lines.whole(4, "the count of C planes", 1)
    gammas = lines.whole(6, "the count of angles in a plane", 2)
    flux, after = _flux(lines)
    first = after + 10  # ten direct ratios
    azimuth = _azimuths(lines, first, planes)
    polar = polar_angles(path, lines.take(first + planes, gammas, "gamma angles"), "gamma angles")
    chosen = _stored(lines, symmetry, planes)
    _check_ends(lines, symmetry, azimuth[chosen], first)
    start = first + planes + gammas
    values = intensities(path, lines.take(start, len(chosen) * gammas, "intensities"))
    lines.end(start + len(values))
    table = 0.001 * flux * values.reshape(len(chosen), gammas)
    return distribution(path, polar, *_all_round(symmetry, azimuth[chosen], table))


class _Lines:
    """The lines of a file, counted from 1."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lines = read_lines(path)

    def take(self, first: int, count: int, noun: str) -> list[Entry]:
        # Each line holds one number, and programs of many countries write its decimals after a comma.
        lines = self._lines[first - 1 :][:count]
        taken = [Entry(text.strip().replace(",", "."), first + row) for row, text in enumerate(lines)]
        if len(taken) < count:
            message = f"the file ends after {len(taken)} of {count} {noun}; it is cut off, or a count in it is wrong"
            raise fault(self.path, len(self._lines), message)
        return taken

    def whole(self, line: int, noun: str, least: int) -> int:
        return whole_number(self.path, self.take(line, 1, f"lines with {noun}")[0], noun, least)

    def real(self, line: int, noun: str) -> float:
        return number(self.path, self.take(line, 1, f"lines with {noun}")[0], noun)

    def end(self, after: int) -> None:
        """Refuse what is left over."""
        left = len(self._lines) - after + 1
        if left > 0:
            message = f"{left} more {'line' if left == 1 else 'lines'} than the counts ask for; a count is wrong"
            raise fault(self.path, after, message)


def _flux(lines: _Lines) -> tuple[float, int]:
    """Return the flux of the first lamp set times the conversion factor, and the line after the sets."""
    factor = lines.real(24, "the conversion factor")
    sets = lines.whole(_LAMP_SETS, "the count of lamp sets", 1)
    flux = lines.real(_LAMP_SETS + 3, "the flux of the lamps")
    for line, value, noun in ((24, factor, "conversion factor"), (_LAMP_SETS + 3, flux, "flux of the lamps")):
        if value <= 0.0:
            raise fault(lines.path, line, f"the {noun} is {value:g}; it must be above 0")
    return factor * flux, _LAMP_SETS + 1 + 6 * sets


def _azimuths(lines: _Lines, first: int, count: int) -> FloatArray:
    entries = lines.take(first, count, "C angles")
    angles = increasing(lines.path, entries, "C angles")
    if angles[0] != 0.0 or angles[-1] >= 360.0:
        message = f"C angles run from {angles[0]:g} to {angles[-1]:g}; they start at 0 and end below 360"
        raise fault(lines.path, entries[0 if angles[0] != 0.0 else -1].line, message)
    return angles


def _stored(lines: _Lines, symmetry: int, planes: int) -> list[int]:
    """Return the rows of the C planes whose intensities the file holds, in its order."""
    parts = {2: 2, 3: 4, 4: 4}.get(symmetry, 1)
    if planes % parts:
        message = f"the count of C planes is {planes}; with symmetry {symmetry} it must be a multiple of {parts}"
        raise fault(lines.path, 4, message)
    match symmetry:
        case 0:
            return list(range(planes))
        case 1:
            return [0]
        case 3:
            return [row % planes for row in range(3 * planes // 4, 5 * planes // 4 + 1)]
        case _:
            return list(range(planes // (2 if symmetry == 2 else 4) + 1))


def _check_ends(lines: _Lines, symmetry: int, azimuth: FloatArray, line: int) -> None:
    """Refuse C planes that do not end on the planes of their symmetry."""
    right = {2: (0.0, 180.0), 3: (270.0, 90.0), 4: (0.0, 90.0)}.get(symmetry)
    found = (float(azimuth[0]), float(azimuth[-1]))
    if right is not None and found != right:
        message = f"with symmetry {symmetry} the stored planes run from C {right[0]:g} to {right[1]:g}"
        raise fault(lines.path, line, f"{message}, not from {found[0]:g} to {found[1]:g}; an angle is wrong")


def _all_round(symmetry: int, azimuth: FloatArray, table: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return half-planes from 0 to 360 deg."""
    if len(azimuth) == 1:
        return np.array([0.0, 360.0]), np.concatenate([table, table])
    if symmetry == 3:
        # From C -90 to 90, and mirrored in the plane of these two to 270; what lies below 0 goes to the end.
        below = azimuth > 180.0
        azimuth, table = mirrored(np.where(below, azimuth - 360.0, azimuth), table, 90.0)
        start = int(np.count_nonzero(azimuth < 0.0))
        azimuth = np.concatenate([azimuth[start:], azimuth[1:start] + 360.0])
        table = np.concatenate([table[start:], table[1:start]])
    if symmetry == 4:
        azimuth, table = mirrored(azimuth, table, 90.0)
    if symmetry in (2, 4):
        azimuth, table = mirrored(azimuth, table, 180.0)
    if azimuth[-1] < 360.0:
        azimuth, table = np.append(azimuth, 360.0), np.concatenate([table, table[:1]])
    return azimuth, table
