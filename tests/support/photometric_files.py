"""Writers of invented photometric files, and intensities by formulas to fill them with."""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from sim.transport.arrays import F64

Law = Callable[[F64, F64], F64]
"""Intensity by polar angle and azimuth [rad], which it takes as arrays that broadcast."""


def cosine(polar: F64, azimuth: F64) -> F64:
    """1000 cos: power 1000 pi, by hand."""
    return 1000.0 * np.maximum(np.cos(polar), 0.0) + 0.0 * azimuth


def lopsided(polar: F64, azimuth: F64) -> F64:
    """A beam off its axis with a dark quarter and light left at 90 degrees."""
    return 50.0 + 400.0 * np.maximum(np.cos(polar), 0.0) ** 4 * (1.2 + np.sin(azimuth + 0.4)) * (1.0 - np.cos(azimuth))


def values(law: Law, vertical: Sequence[float], horizontal: Sequence[float]) -> F64:
    """Table of a law at angles [deg], one row a half-plane."""
    return law(np.radians(np.array(vertical))[None, :], np.radians(np.array(horizontal))[:, None])


def row(numbers: Sequence[float]) -> str:
    return " ".join(f"{number:.10g}" for number in numbers)


def lm63(
    table: F64,
    vertical: Sequence[float],
    horizontal: Sequence[float] = (0.0,),
    *,
    edition: str = "IESNA:LM-63-2002",
    tilt: str = "TILT=NONE",
    multiplier: float = 1.0,
    ballast: float = 1.0,
    kind: int = 1,
) -> str:
    """Text of an LM-63 file, each half-plane on one line."""
    head = f"1 -1 {multiplier:g} {len(vertical)} {len(horizontal)} {kind} 2 -0.1 0 0"
    lines = [edition, "[TEST] invented", "[MANUFAC] none", tilt, head, f"{ballast:g} 1 20", row(vertical)]
    return "\n".join([line for line in lines if line] + [row(horizontal), *(row(part) for part in table)]) + "\n"


def eulumdat(
    table: F64,
    gamma: Sequence[float],
    planes: Sequence[float] = (0.0,),
    *,
    symmetry: int = 1,
    flux: float = 1000.0,
    factor: float = 1.0,
    sets: int = 1,
) -> str:
    """Text of an EULUMDAT file; `planes` are all its C planes, `table` has those that it stores, per 1000 lm."""
    lamps = ["1", "invented", f"{flux:g}", "white", "80", "20"] * sets
    lines = ["invented", "1", str(symmetry), str(len(planes)), "0", str(len(gamma)), "0", "none", "none", "none"]
    lines += ["none.ldt", "none", "100", "0", "0", "100", "0", "0", "0", "0", "0", "100", "100", f"{factor:g}", "0"]
    lines += [str(sets), *lamps, *["0.5"] * 10]
    lines += [f"{value:.10g}" for value in (*planes, *gamma, *table.ravel())]
    return "\n".join(lines) + "\n"


def written(folder: Path, name: str, text: str) -> Path:
    """The path of a file with a text."""
    path = folder / name
    path.write_text(text, encoding="latin-1")
    return path
