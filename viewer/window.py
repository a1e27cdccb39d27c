"""A window with a result to turn around: lamps are dimmed, quantities changed and numbers read in it."""

from pathlib import Path

import numpy as np
import pyvista as pv
from vtkmodules.vtkInteractionWidgets import vtkSliderRepresentation2D, vtkSliderWidget
from vtkmodules.vtkRenderingCore import vtkTextActor

from sim.analysis.selection import Selection
from sim.spectra.weighting import WEIGHTINGS
from viewer.beside import add_column
from viewer.callouts import Page, add_callouts, padded
from viewer.cameras import Camera, camera_towards, write_camera
from viewer.flat import INK, QUIET, add_text
from viewer.layers import layers, mapped
from viewer.live import LiveResult
from viewer.marks import add_zone_outlines, names_of, zone_callout
from viewer.pointing import Pointed, line_of_sight
from viewer.sides import add_sides
from viewer.stage import (
    Look,
    aspect,
    camera_of,
    model_size,
    new_plotter,
    room_of,
    stand,
    type_height,
    write_words,
)
from viewer.web_scene import fill_scene

KEYS = "n: next quantity   m: value or standard error   k: keep the camera in a file   q: close"
_SLIDERS = 0.5
"""Height of the column under which the sliders lie."""
_MOST_SLIDERS = 6


class Window:
    """A window, or its picture where it is drawn off the screen.

    Parameters
    ----------
    shown : Selection
        What is shown at first.
    look : Look
    size : (int, int) [px]
    folder : Path
        Where cameras are kept.
    off_screen : bool
    """

    def __init__(
        self, shown: Selection, look: Look, size: tuple[int, int], folder: Path, off_screen: bool = False
    ) -> None:
        if not mapped(shown.result):
            raise ValueError(
                "no surface of this result is mapped, so that a window would show nothing; see report.html"
            )
        self.live = LiveResult(shown)
        self.size, self.folder = size, folder
        self.plotter = new_plotter(size, off_screen)
        self.pointed: Pointed | None = None
        self.sliders: list[vtkSliderWidget] = []
        self._whole = layers(shown)
        self._fill(shown, look)
        self.refresh()

    def _fill(self, shown: Selection, look: Look) -> None:
        plotter, letters, part = self.plotter, type_height(self.size), model_size(self.size)
        plotter.subplot(0, 0)
        camera = camera_of(look, self._whole, self.size)
        self.mesh = fill_scene(plotter, shown, self._whole, self.live.scale)
        stand(plotter, camera)
        room = room_of(self._whole)
        words = [] if room is None else add_sides(plotter.renderer, room, camera, part, letters)
        add_zone_outlines(plotter.renderer, shown)
        zones = [zone_callout(shown.result, zone) for zone in self.live.told().zones]
        lamps = [item for item in names_of(shown) if item.text.startswith("lamp ")]
        page = Page(part, letters, tuple(words))
        self.zone_labels = add_callouts(plotter.renderer, [*zones, *lamps], camera, page)[: len(zones)]
        write_words(plotter.renderer, shown, look, self.size, letters)
        self._reading = self._line(0.105, letters + 2, bold=True)
        self._keys = self._line(0.078, letters - 1)
        self._keys.SetInput(KEYS)
        self._add_sliders(letters)
        plotter.subplot(0, 0)

    def _line(self, up: float, height: int, bold: bool = False) -> vtkTextActor:
        colour = INK if bold else QUIET
        return add_text(self.plotter.renderer, "", (0.025, up), height=height, colour=colour, bold=bold)

    def _add_sliders(self, letters: int) -> None:
        self.plotter.subplot(0, 1)
        lamps = self.live.result.lamps[:_MOST_SLIDERS]
        for number, lamp in enumerate(lamps):
            up = _SLIDERS - 0.075 * (number + 1)
            slider = self.plotter.add_slider_widget(
                lambda percent, at=number: self.dim(at, percent / 100.0),  # type: ignore[arg-type]  # as below
                (0.0, max(100.0, 100.0 * self.live.levels[number])),
                value=100.0 * self.live.levels[number],
                title=f"{lamp.name}, %",
                pointa=(0.10, up),
                pointb=(0.90, up),
                color=INK,
                fmt="%.0f",
                style="modern",
            )
            _slim(slider, self.plotter.renderer, letters / self.size[1])
            self.sliders.append(slider)

    @property
    def camera(self) -> Camera:
        """The camera as it stands."""
        self.plotter.subplot(0, 0)
        seen = self.plotter.camera
        return camera_towards(*(np.array(part) for part in (seen.position, seen.focal_point, seen.up)))

    def dim(self, number: int, level: float) -> None:
        """Set a lamp to a factor on what was traced; map, column and reading follow."""
        levels = list(self.live.levels)
        levels[number] = level
        self.live.change(levels=levels)
        self.refresh()

    def next_quantity(self) -> None:
        """Show the quantity that comes next."""
        names = list(WEIGHTINGS)
        self.live.change(quantity=names[(names.index(self.live.quantity) + 1) % len(names)])
        self.refresh()

    def other_part(self) -> None:
        """Show the standard error instead of the value, or the value again."""
        self.live.change(part="value" if self.live.part == "error" else "error")
        self.refresh()

    def keep_camera(self) -> Path:
        """Write the camera to a new file and return its path."""
        number = 1
        while (path := self.folder / f"camera-{number}.json").exists():
            number += 1
        write_camera(path, self.camera)
        self._reading.SetInput(f"camera kept in {path}")
        return path

    def point(self, x: float, y: float) -> None:
        """Read what lies at a place in the window [px], counted from the left and from below."""
        width, height = model_size(self.size)
        self.pointed = None
        if 0 <= x < width and 0 <= y < height:
            camera = self.camera
            place = (x / width, y / height)
            self.pointed = self.live.scenery.met(camera.eye, line_of_sight(camera, place, aspect(self.size)))
        self._tell()

    def refresh(self) -> None:
        """Let map, column and reading follow what is shown."""
        self.mesh.cell_data["shown"] = self.live.cells().astype(np.float32)
        self.plotter.subplot(0, 0)
        scale = self.live.scale
        self.plotter.renderer.actors["maps"].mapper.scalar_range = (0.0, scale.ticks.top)
        self.plotter.subplot(0, 1)
        column = self.plotter.renderer
        column.RemoveAllViewProps()
        width = self.size[0] - model_size(self.size)[0]
        add_column(column, scale, self._whole, (width, self.size[1]), type_height(self.size), low=0.58)
        for slider, level in zip(self.sliders, self.live.levels, strict=False):
            # The widgets' own things went with all others.
            slider.Off()
            slider.On()
            _look_of(slider).SetValue(100.0 * level)
        for label, zone in zip(self.zone_labels, self.live.told().zones, strict=True):
            label.SetInput(padded(zone_callout(self.live.result, zone).text))
        self._tell()
        self.plotter.render()

    def _tell(self) -> None:
        value, place = self.live.reading(self.pointed) if self.pointed is not None else ("", "")
        self._reading.SetInput(f"{value}   {place}" if value else "")

    def show(self) -> None:
        """Open the window and return when it is closed."""
        plotter = self.plotter
        for key, work in (("n", self.next_quantity), ("m", self.other_part), ("k", self.keep_camera)):
            plotter.add_key_event(key, work)  # type: ignore[arg-type]  # a decorator hides its first argument
        assert plotter.iren is not None, "a window takes events"
        plotter.iren.add_observer("MouseMoveEvent", lambda *_: self._moved())
        plotter.show()

    def _moved(self) -> None:
        before = self._reading.GetInput()
        self.size = (self.plotter.window_size[0], self.plotter.window_size[1])
        assert self.plotter.iren is not None, "a window takes events"
        self.point(*self.plotter.iren.get_event_position())  # type: ignore[no-untyped-call]
        if before != self._reading.GetInput():
            self.plotter.render()


def _slim(slider: vtkSliderWidget, column: pv.Renderer, letter: float) -> None:
    """Make a slider a thin line with a knob, in the column; `letter` is the height of the type as a share of it."""
    slider.SetDefaultRenderer(column)
    slider.SetCurrentRenderer(column)
    look = _look_of(slider)
    look.SetTubeWidth(0.004)
    look.SetSliderLength(0.05)
    look.SetSliderWidth(0.016)
    look.SetEndCapLength(0.0)
    look.SetTitleHeight(letter)
    look.SetLabelHeight(letter)
    for words in (look.GetTitleProperty(), look.GetLabelProperty()):
        words.SetBold(False)
        words.SetShadow(False)
        words.SetFontFamilyToArial()
    look.GetTubeProperty().SetColor(*pv.Color("#a9b4ba").float_rgb)
    for knob in (look.GetSliderProperty(), look.GetSelectedProperty()):
        knob.SetColor(*pv.Color("#8a3d00").float_rgb)


def _look_of(slider: vtkSliderWidget) -> vtkSliderRepresentation2D:
    look = slider.GetRepresentation()
    assert isinstance(look, vtkSliderRepresentation2D), "sliders are flat"
    return look


def show(shown: Selection, look: Look, size: tuple[int, int], folder: Path) -> None:
    """Open a window and return when it is closed; see `Window`."""
    Window(shown, look, size, folder).show()
