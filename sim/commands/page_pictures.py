"""The pictures of a page: drawn by the viewer as a program of its own, or left out with a line that says why."""

import json
import subprocess
import sys
import tempfile
import time
from base64 import b64decode
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from sim.commands.drawing import package_environment

if TYPE_CHECKING:
    from sim.report.lengths import LengthUnit
    from sim.report.pictures import Picture, Pictures
    from sim.tally.result import Result

SIZE = (1400, 900)
PATIENCE_S = 300.0
LOOK_EVERY_S = 0.1
_DRIVER = "the drawing program was ended by signal {}, most likely in the graphics driver; update it"


class _NotDrawnError(RuntimeError):
    """A picture that could not be made; one line that says why."""


class _View(NamedTuple):
    """A picture: its name, a camera by name, axis and place [m] of a cut, if there is one, and its caption."""

    name: str
    camera: str
    cut: tuple[int, float] | None
    caption: str


@contextmanager
def page_artist(wanted: bool = True) -> Iterator["PageArtist | None"]:
    """Start the viewer, so that it loads what it needs while something else is done; it ends with the block.

    It is in no group of the terminal's: Ctrl-C, which has a run report what was traced so far, leaves it alone. Its
    pictures come through a pipe: a folder kept for them all through a run may be gone by then, since files that nobody
    touches for long are cleaned away, and would stay behind a run that is killed.
    """
    if not wanted:
        yield None
        return
    command = [sys.executable, "-m", "viewer.for_page"]
    with subprocess.Popen(
        command,
        env=package_environment(),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        bufsize=0,
        start_new_session=True,
    ) as child:
        try:
            yield PageArtist(child)
        finally:
            child.kill()


class PageArtist:
    """The viewer, which waits for a result and then draws it while other things are done."""

    def __init__(self, child: "subprocess.Popen[bytes]") -> None:
        self._child = child
        self.asked = False
        """Whether a result was given to it; it takes one."""

    def begin(
        self, path: Path, result: "Result", unit: "LengthUnit", look: Callable[[], None] = lambda: None
    ) -> Callable[[], "Pictures"]:
        """Have a result drawn from a corner, and cut open at its first lamp; return what waits for the pictures.

        Parameters
        ----------
        path : Path
            Of the result.
        result : Result
            The same, read.
        unit : LengthUnit
            That the page tells lengths in; the pictures tell them in centimetres.
        look : callable
            Called while the pictures are waited for; what it raises ends the waiting.
        """
        views = _views(result, unit)
        asked = [{"camera": view.camera, "cut": view.cut} for view in views]
        request = {"result": str(path.absolute()), "size": SIZE, "pictures": asked}
        self.asked = True
        stdin = self._child.stdin
        assert stdin is not None, "it was started with a pipe"
        # A program that died does not read; why it died is found out when its pictures are waited for.
        with suppress(BrokenPipeError):
            stdin.write(json.dumps(request).encode() + b"\n")
        return cache(lambda: self._pictures(path, result, unit, views, look))

    def _pictures(
        self, path: Path, result: "Result", unit: "LengthUnit", views: list[_View], look: Callable[[], None]
    ) -> "Pictures":
        from sim.report.pictures import Pictures

        drawn = self._drawn(look)
        try:
            drawn = drawn or [_alone(path, view) for view in views]
        except _NotDrawnError as error:
            return Pictures(left_out=f"Pictures in three dimensions are left out: {error}.")
        return Pictures(tuple(_picture(view, png, result, unit) for view, png in zip(views, drawn, strict=True)))

    def _drawn(self, look: Callable[[], None]) -> list[bytes]:
        """Wait for the pictures; there are none where the program failed, which does not say why."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            look()
            with suppress(subprocess.TimeoutExpired):
                told, _ = self._child.communicate(timeout=LOOK_EVERY_S)  # goes on where it was
                return _read(told)
        self._child.kill()
        return []


def _read(told: bytes) -> list[bytes]:
    """Return the pictures that the program told, or none where that is nothing, or not all of it."""
    try:
        return [b64decode(png) for png in json.loads(told)]
    except ValueError:
        return []


def _views(result: "Result", unit: "LengthUnit") -> list[_View]:
    corner = _View("corner", "corner", None, "Seen from the front right corner")
    if not result.lamps:
        return [corner]
    lamp = result.lamps[0]
    at = float(lamp.centre[1])
    caption = f"Seen from the front, cut open at y {unit.words(at)}, through the middle of {lamp.name}"
    return [corner, _View("cut", "front", (1, at), caption)]


def _alone(path: Path, view: _View) -> bytes:
    """Return a picture that did not come with the others: asked for by itself, which tells what is wrong."""
    with tempfile.TemporaryDirectory(prefix="vivray-") as folder:
        out = Path(folder, f"{view.name}.png")
        _draw(path, out, view)
        return out.read_bytes()


def _draw(path: Path, out: Path, view: _View) -> None:
    """Have the viewer draw one picture as for a user, who is told in a line what is wrong."""
    size = f"{SIZE[0]}x{SIZE[1]}"
    cut = () if view.cut is None else ("--cut", f"{'xyz'[view.cut[0]]}={view.cut[1]!r} m")
    words = ["picture", str(path), "--out", str(out), "--size", size, "--camera", view.camera, *cut]
    try:
        child = subprocess.run(
            [sys.executable, "-m", "viewer", *words],
            env=package_environment(),
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
