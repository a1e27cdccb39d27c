"""The pictures of a page: drawn by the viewer as a program of its own, or left out with a line that says why."""

import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from sim.commands.drawing import viewer_environment

if TYPE_CHECKING:
    from sim.report.lengths import LengthUnit
    from sim.report.pictures import Picture, Pictures
    from sim.tally.result import Result

SIZE = "1400x900"
PATIENCE_S = 300.0
_DRIVER = "the drawing program was ended by signal {}, most likely in the graphics driver; update it"


class _NotDrawnError(RuntimeError):
    """A picture that could not be made; one line that says why."""


class _View(NamedTuple):
    name: str
    options: tuple[str, ...]
    caption: str


def page_pictures(path: Path, result: "Result", unit: "LengthUnit") -> "Pictures":
    """Return the pictures of a result in a file: from a corner, and cut open at its first lamp.

    Parameters
    ----------
    path : Path
        Of the result.
    result : Result
        The same, read.
    unit : LengthUnit
        That the page tells lengths in; the pictures tell them in centimetres.
    """
    from sim.report.pictures import Pictures

    views = _views(result, unit)
    try:
        with ThreadPoolExecutor(len(views)) as pool:
            drawn = list(pool.map(lambda view: _drawn(path, view.options), views))
    except _NotDrawnError as error:
        return Pictures(left_out=f"Pictures in three dimensions are left out: {error}.")
    shown = (_picture(view, png, result, unit) for view, png in zip(views, drawn, strict=True))
    return Pictures(tuple(shown))


def _views(result: "Result", unit: "LengthUnit") -> list[_View]:
    corner = _View("corner", ("--camera", "corner"), "Seen from the front right corner")
    if not result.lamps:
        return [corner]
    lamp = result.lamps[0]
    at = float(lamp.centre[1])
    caption = f"Seen from the front, cut open at y {unit.words(at)}, through the middle of {lamp.name}"
    return [corner, _View("cut", ("--camera", "front", "--cut", f"y={at!r} m"), caption)]


def _drawn(path: Path, options: tuple[str, ...]) -> bytes:
    with tempfile.TemporaryDirectory(prefix="vivray-") as folder:
        out = Path(folder, "picture.png")
        words = ["picture", str(path), "--out", str(out), "--size", SIZE, *options]
        try:
            child = subprocess.run(
                [sys.executable, "-m", "viewer", *words],
                env=viewer_environment(),
                capture_output=True,
                text=True,
                timeout=PATIENCE_S,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise _NotDrawnError(f"no picture was ready within {PATIENCE_S:g} s") from None
        if child.returncode < 0:
            raise _NotDrawnError(_DRIVER.format(-child.returncode))
        if child.returncode > 0 or not out.exists():
            told = child.stderr.strip().splitlines() or ["the drawing program did not say why"]
            raise _NotDrawnError(told[-1].rstrip("."))
        return out.read_bytes()


def _picture(view: _View, png: bytes, result: "Result", unit: "LengthUnit") -> "Picture":
    from sim.report.lengths import CENTIMETRES
    from sim.report.pictures import Picture

    lamps = ", ".join(lamp.name for lamp in result.lamps)
    zones = ", ".join(group.name for group in result.of_kind("zone"))
    label = (
        f"Picture of the enclosure in three dimensions. {view.caption}. UV index in colours on its surfaces; "
        f"lamps: {lamps or 'none'}; zones: {zones or 'none'}. The tables below hold the numbers."
    )
    note = "" if unit == CENTIMETRES else " Lengths in the picture are in centimetres."
    caption = (
        f"{view.caption}. Colours tell the UV index that arrives on the surfaces themselves; white outlines are zones."
        f"{note}"
    )
    return Picture(view.name, png, label, caption)
