"""Reader of ANSI/IES LM-63 files: intensities of a lamp by direction, of the editions 1986 to 2019."""

import re
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

TYPES = {1: "C", 2: "B", 3: "A"}
_SEPARATOR = re.compile(r"[\s,]+")


def read_lm63(path: Path) -> Distribution:
    """Return the intensities that an LM-63 file states, its multiplier and ballast factor applied [cd, or W/sr].

    Parameters
    ----------
    path : Path
        Of photometric type C (vertical planes through the axis).

    Raises
    ------
    ValueError
        One line that names the file, where it can the line, what is wrong and what would be right.
    OSError
        If the file cannot be read.

    Notes
    -----
    Factors for a tilted lamp (TILT=INCLUDE or a file) scale the strength with how it hangs; they are checked for
    their count and not applied. Of a field that editions use in different ways (after the ballast factor) nothing
    is made.

    References
    ----------
    ANSI/IES LM-63-19, and ANSI/IESNA LM-63-02, Standard file format for electronic transfer of photometric data
    (order of fields from memory).
    """
    numbers = _Numbers(path)
    scale, vertical, horizontal = _head(numbers)
    polar = polar_angles(numbers.path, numbers.take(vertical, "vertical angles"), "vertical angles")
    azimuth = _horizontal(numbers, horizontal)
    entries = numbers.take(vertical * horizontal, "candela values")
    numbers.end()
    table = scale * intensities(path, entries).reshape(horizontal, vertical)
    return distribution(path, polar, *_all_round(azimuth, table))


class _Numbers:
    """The numbers of a file after its keywords, wherever its lines break."""

    def __init__(self, path: Path) -> None:
        self.path = path
        lines = read_lines(path)
        tilt = next((row for row, line in enumerate(lines) if line.strip().upper().startswith("TILT=")), None)
        if tilt is None:
            raise ValueError(
                f"{path.name}: has no line TILT=NONE (or INCLUDE), so it is no LM-63 file; export it again"
            )
        self._entries = [
            Entry(text, row + 1) for row in range(tilt + 1, len(lines)) for text in _SEPARATOR.split(lines[row]) if text
        ]
        self._last = len(lines)
        self._next = 0
        if lines[tilt].split("=", 1)[1].strip().upper() == "INCLUDE":
            self._tilt()

    def take(self, count: int, noun: str) -> list[Entry]:
        taken = self._entries[self._next : self._next + count]
        if len(taken) < count:
            message = f"the file ends after {len(taken)} of {count} {noun}; it is cut off, or a count in it is wrong"
            raise fault(self.path, self._last, message)
        self._next += count
        return taken

    def one(self, noun: str) -> Entry:
        return self.take(1, noun)[0]

    def end(self) -> None:
        """Refuse what is left over."""
        if self._next < len(self._entries):
            left = len(self._entries) - self._next
            message = f"{left} more {'number' if left == 1 else 'numbers'} than the counts of angles ask for"
            raise fault(self.path, self._entries[self._next].line, f"{message}; a count is wrong")

    def _tilt(self) -> None:
        self.one("numbers for the lamp's position")
        pairs = whole_number(self.path, self.one("counts of tilt angles"), "the count of tilt angles", 1)
        increasing(self.path, self.take(pairs, "tilt angles"), "tilt angles")
        intensities(self.path, self.take(pairs, "tilt factors"))


def _head(numbers: _Numbers) -> tuple[float, int, int]:
    """Return the factor on all intensities, and the counts of vertical and horizontal angles."""
    path = numbers.path
    fields = numbers.take(13, "numbers of the head")
    multiplier = number(path, fields[2], "the candela multiplier")
    ballast = number(path, fields[10], "the ballast factor")
    for factor, entry, noun in ((multiplier, fields[2], "candela multiplier"), (ballast, fields[10], "ballast factor")):
        if factor <= 0.0:
            raise fault(path, entry.line, f"the {noun} is {entry.text}; it must be above 0")
    kind = whole_number(path, fields[5], "the photometric type", 1)
    if kind != 1:
        known = f", type {TYPES[kind]}" if kind in TYPES else ""
        message = f"the photometric type is {kind}{known}; only type C (1) is read: export the file so"
        raise fault(path, fields[5].line, message)
    vertical = whole_number(path, fields[3], "the count of vertical angles", 2)
    return multiplier * ballast, vertical, whole_number(path, fields[4], "the count of horizontal angles", 1)


def _horizontal(numbers: _Numbers, count: int) -> FloatArray:
    entries = numbers.take(count, "horizontal angles")
    angles = increasing(numbers.path, entries, "horizontal angles")
    span = (float(angles[0]), float(angles[-1]))
    allowed = span == (0.0, 0.0) if count == 1 else span in ((0.0, 90.0), (0.0, 180.0), (90.0, 270.0), (0.0, 360.0))
    if not allowed:
        found = (
            f"the one horizontal angle is {span[0]:g}"
            if count == 1
            else f"horizontal angles run from {span[0]:g} to {span[1]:g}"
        )
        message = f"{found}; right are 0 alone, 0 to 90, 0 to 180, 90 to 270, and 0 to 360"
        raise fault(numbers.path, entries[-1].line, message)
    return angles


def _all_round(azimuth: FloatArray, table: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return half-planes from 0 to 360 deg by the symmetry that the range of horizontal angles states."""
    if len(azimuth) == 1:
        return np.array([0.0, 360.0]), np.concatenate([table, table])
    if azimuth[0] == 90.0:
        return _from_90(*mirrored(azimuth, table, 270.0))
    if azimuth[-1] == 90.0:
        azimuth, table = mirrored(azimuth, table, 90.0)
    if azimuth[-1] == 180.0:
        azimuth, table = mirrored(azimuth, table, 180.0)
    return azimuth, table


def _from_90(azimuth: FloatArray, table: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return half-planes from 0 to 360 deg of those from 90 to 450 deg, with one at 0 by interpolation."""
    at_0 = np.stack([np.interp(360.0, azimuth, column) for column in table.T])
    late, early = (azimuth > 360.0), (azimuth < 360.0)
    return (
        np.concatenate([[0.0], azimuth[late] - 360.0, azimuth[early][1:], [360.0]]),
        np.concatenate([at_0[None], table[late], table[early][1:], at_0[None]]),
    )
