"""What the readers of photometric files share: numbers that know their line, and the checks of what they read."""

import math
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.lamps.distribution import Distribution


class Entry(NamedTuple):
    """A piece of text and the line that it stands on."""

    text: str
    line: int


def read_lines(path: Path) -> list[str]:
    """Return the lines of a text file; its numbers are ASCII, and no other letters matter.

    Raises
    ------
    ValueError
        If it is empty or no text.
    """
    data = path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    if b"\0" in data:
        raise ValueError(f"{path.name}: is no text file; export it again")
    lines = data.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip("\x1a \t"):
        lines.pop()
    if not lines:
        raise ValueError(f"{path.name}: is empty; export it again")
    return lines


def number(path: Path, entry: Entry, noun: str) -> float:
    """Return the number that an entry holds.

    Raises
    ------
    ValueError
        With file and line, if it holds none, or one that is not finite.
    """
    try:
        value = float(entry.text)
    except ValueError:
        raise fault(path, entry.line, f"'{entry.text[:40]}' is no number where {noun} should be") from None
    if not math.isfinite(value):
        raise fault(path, entry.line, f"{noun} is {entry.text}; give a finite number")
    return value


def whole_number(path: Path, entry: Entry, noun: str, least: int) -> int:
    """Return the whole number that an entry holds, at least so much.

    Raises
    ------
    ValueError
        With file and line, if it holds none or less.
    """
    value = number(path, entry, noun)
    if value != int(value) or value < least:
        raise fault(path, entry.line, f"{noun} is {entry.text}; it must be a whole number from {least} up")
    return int(value)


def increasing(path: Path, entries: Sequence[Entry], noun: str) -> FloatArray:
    """Return angles [deg] that must increase.

    Raises
    ------
    ValueError
        With file and line, if they do not.
    """
    values = [number(path, entry, f"one of the {noun}") for entry in entries]
    for entry, before, value in zip(entries[1:], values, values[1:], strict=False):
        if value <= before:
            raise fault(path, entry.line, f"the {noun} must increase, but {value:g} follows {before:g}")
    return np.array(values)


def polar_angles(path: Path, entries: Sequence[Entry], noun: str) -> FloatArray:
    """Return the angles from straight ahead [deg], which begin there, or square to it, and end at 180 at most.

    Raises
    ------
    ValueError
        With file and line, if they do not, or do not increase.
    """
    angles = increasing(path, entries, noun)
    if angles[0] not in (0.0, 90.0):
        message = (
            f"the {noun} begin at {angles[0]:g}; right is 0 (straight ahead), or 90 where all light goes backwards"
        )
        raise fault(path, entries[0].line, message)
    if angles[-1] > 180.0:
        raise fault(path, entries[-1].line, f"the {noun} end at {angles[-1]:g}; 180 (straight back) is the last")
    return angles


def intensities(path: Path, entries: Sequence[Entry]) -> FloatArray:
    """Return intensities, which must not be negative.

    Raises
    ------
    ValueError
        With file and line, if one is.
    """
    values = [number(path, entry, "an intensity") for entry in entries]
    for entry, value in zip(entries, values, strict=True):
        if value < 0.0:
            raise fault(path, entry.line, f"the intensity {entry.text} is negative; it must be 0 or more")
    return np.array(values)


def distribution(path: Path, polar_deg: FloatArray, azimuth_deg: FloatArray, table: FloatArray) -> Distribution:
    """Return a distribution from half-planes that go all the way round.

    Parameters
    ----------
    path : Path
    polar_deg : (n,) float [deg]
    azimuth_deg : (m,) float [deg]
        From 0 to 360.
    table : (m, n) float
        Intensities, one row a half-plane.

    Raises
    ------
    ValueError
        If all of it is dark.
    """
    found = Distribution(np.radians(polar_deg), np.radians(azimuth_deg), np.ascontiguousarray(table.T))
    if not found.power > 0.0:
        raise ValueError(f"{path.name}: all intensities are 0; a lamp shines somewhere")
    return found


def mirrored(azimuth_deg: FloatArray, table: FloatArray, plane_deg: float) -> tuple[FloatArray, FloatArray]:
    """Return half-planes with their mirror images beyond the plane at an angle, which is the last of them."""
    return (
        np.concatenate([azimuth_deg, 2.0 * plane_deg - azimuth_deg[-2::-1]]),
        np.concatenate([table, table[-2::-1]]),
    )


def fault(path: Path, line: int, message: str) -> ValueError:
    """Return an error that names file and line."""
    return ValueError(f"{path.name}:{line}: {message}")
