"""A page in the browser, served to this machine alone: choose what is shown, dim lamps, read numbers.

The picture is drawn here and sent as it changes, so that its colours are those of every other picture.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pyvista as pv

from sim.analysis.numbers import plain, with_error
from sim.analysis.selection import Part, Selection
from sim.report.cautions import SHORT
from sim.report.wording import value_of
from sim.spectra.weighting import WEIGHTINGS
from viewer.beside import PLAIN_COLOURS, WORDS
from viewer.callouts import Page, add_callouts
from viewer.cameras import Camera, camera_for, camera_towards
from viewer.layers import Layer, layers
from viewer.live import LiveResult
from viewer.marks import add_zone_outlines, bright_lines, names_of
from viewer.pointing import Pointed, line_of_sight
from viewer.sides import add_sides
from viewer.stage import Look, points_of, room_of, stand, type_height
from viewer.web_scene import fill_scene
from viewer.web_words import verdict_of

HOST = "127.0.0.1"
SIZE = (900, 800)
_STYLE = Path(__file__).parent / "page" / "page.css"
_HINT = "Point at a surface. Drag to turn, scroll to come nearer, drag with Shift to move."
_PARTS: dict[Part, str] = {"value": "its value", "error": "its standard error"}


class LivePage:
    """The page's model and what it tells; `viewer.live_page.serve` puts it on a server.

    Parameters
    ----------
    shown : Selection
    look : Look
    """

    def __init__(self, shown: Selection, look: Look) -> None:
        self.live = LiveResult(shown)
        self.pointed: Pointed | None = None
        self.plotter = pv.Plotter(off_screen=True, window_size=list(SIZE))
        whole = layers(shown)
        self.mesh = fill_scene(self.plotter, shown, whole, self.live.scale)
        stand(self.plotter, _camera(look, whole))
        camera, letters, room = self.camera, type_height((1200, 800)), room_of(whole)
        words = [] if room is None else add_sides(self.plotter.renderer, room, camera, SIZE, letters)
        add_zone_outlines(self.plotter.renderer, shown)
        add_callouts(self.plotter.renderer, names_of(shown), camera, Page(SIZE, letters, tuple(words)))
        self.recolour()

    @property
    def camera(self) -> Camera:
        """The camera as it stands."""
        seen = self.plotter.camera
        eye, focus, up = (np.array(part) for part in (seen.position, seen.focal_point, seen.up))
        return camera_towards(eye, focus, up)

    def recolour(self) -> None:
        """Let the map follow what is shown."""
        self.mesh.cell_data["shown"] = self.live.cells().astype(np.float32)
        actor = self.plotter.renderer.actors["maps"]
        actor.mapper.scalar_range = (0.0, self.live.scale.ticks.top)

    def reading(self, left: float, top: float, width: float, height: float) -> tuple[str, str]:
        """Return number and place under a pointer, from the left upper corner of a picture of a size [px]."""
        place, camera = (left / width, 1.0 - top / height), self.camera
        self.pointed = self.live.scenery.met(camera.eye, line_of_sight(camera, place, width / height))
        return self.live.reading(self.pointed)

    def bar(self) -> dict[str, Any]:
        """Return what the colour bar tells."""
        scale = self.live.scale
        colours = ", ".join(pv.Color(row[:3]).hex_rgb for row in scale.table.values[::5])
        top = scale.ticks.top
        ticks = [
            {"style": f"bottom: {100.0 * value / top:.4g}%", "text": plain(value)}
            for value in (0.0, *scale.ticks.levels, top)
        ]
        if scale.ticks.cut:
            ticks[-1]["text"] += " or more"
        style = f"background: linear-gradient(0deg, {colours})"
        return {"title": scale.title, "unit": scale.unit or "no unit", "style": style, "ticks": ticks}

    def told(self) -> tuple[list[dict[str, str]], list[str]]:
        """Return the rows of the zones, and the bright places, at the levels of now."""
        answer = self.live.told()
        zones = [
            {
                "name": f"{number} {zone.name}",
                "mean": with_error(*value_of(zone.uvi)),
                "highest": with_error(zone.high.value, zone.high.half_width),
                "verdict": verdict_of(zone),
            }
            for number, zone in enumerate(answer.zones, start=1)
        ]
        return zones, bright_lines(answer)


def _camera(look: Look, whole: Sequence[Layer]) -> Camera:
    if isinstance(look.camera, Camera):
        return look.camera
    # Room for a page that is a little narrower than the picture.
    return camera_for(points_of(whole), look.camera, 0.9 * SIZE[0] / SIZE[1], (0.1, 0.07, 0.08, 0.08))


def serve(shown: Selection, look: Look, port: int, tell: Callable[[str], None]) -> None:
    """Serve the page until it is interrupted.

    Parameters
    ----------
    shown : Selection
    look : Look
    port : int
        0 for any that is free.
    tell : callable
        Called with the page's address once it can be opened.
    """
    from trame.app import get_server

    page = LivePage(shown, look)
    server = get_server("vivray", client_type="vue3")
    update = _layout(server, page)
    _react(server, page, update)
    server.controller.on_client_connected.add(update)
    server.controller.on_server_ready.add(lambda **_: tell(f"http://{HOST}:{server.port}/"))
    server.start(port=port, host=HOST, open_browser=False, show_connection_info=False, disable_logging=True, timeout=0)


def _react(server: Any, page: LivePage, update: Callable[[], None]) -> None:  # noqa: ANN401  # trame has no types
    """Let the page follow its controls."""
    state = server.state
    lamps = [f"lamp_{number}" for number in range(len(page.live.levels))]

    def tell() -> None:
        state.bar = page.bar()
        if page.pointed is not None:
            state.reading, state.place = page.live.reading(page.pointed)
        state.zones, state.places = page.told()

    @state.change("quantity", "part", *lamps)  # type: ignore[untyped-decorator]
    def follow(**_: object) -> None:
        levels = [float(state[name]) / 100.0 for name in lamps]
        page.live.change(state.quantity, state.part, levels)
        page.recolour()
        tell()
        update()


def point(server: Any, page: LivePage) -> Callable[..., None]:  # noqa: ANN401  # trame has no types
    """Return what is called with the pointer's place: it tells what lies there."""

    def pointed(left: float, top: float, width: float, height: float) -> None:
        if width > 0 and height > 0:
            server.state.reading, server.state.place = page.reading(left, top, width, height)

    return pointed


def _layout(server: Any, page: LivePage) -> Callable[[], None]:  # noqa: ANN401  # trame has no types
    """Build the page and return what sends the picture anew."""
    from trame.ui.html import DivLayout
    from trame.widgets import client, html
    from trame.widgets import vtk as vtk_widgets

    state, result = server.state, page.live.result
    state.trame__title = result.meta.title or result.meta.scene
    state.update(_first(page))
    with DivLayout(server):
        client.Style(_STYLE.read_text(encoding="utf-8"))
        with html.Header():
            html.H1(state.trame__title)
            html.P(f"{result.meta.scene}, {result.meta.histories} photons, seed {result.meta.seed}")
        with html.Main():
            box = "$event.currentTarget.getBoundingClientRect()"
            where = f"[$event.clientX - {box}.left, $event.clientY - {box}.top, {box}.width, {box}.height]"
            with html.Div(classes="stage", mousemove=(point(server, page), where)):
                view = vtk_widgets.VtkRemoteView(
                    page.plotter.render_window, interactive_ratio=1, still_quality=100, interactive_quality=80
                )
            with html.Div(classes="beside"):
                _controls(html, page)
                _tables(html)
    return lambda: view.update()


def _first(page: LivePage) -> dict[str, Any]:
    zones, places = page.told()
    lamps = {f"lamp_{number}": round(100.0 * level) for number, level in enumerate(page.live.levels)}
    return {
        "quantity": page.live.quantity,
        "part": page.live.part,
        "quantities": [{"name": name, "title": one.title} for name, one in WEIGHTINGS.items()],
        "reading": "",
        "place": _HINT,
        "bar": page.bar(),
        "zones": zones,
        "places": places,
        **lamps,
    }


def _controls(html: Any, page: LivePage) -> None:  # noqa: ANN401  # trame has no types
    html.H2("Shown")
    with html.P():
        html.Label("Quantity ", for_="quantity")
        with html.Select(id="quantity", v_model=("quantity",)):
            html.Option("{{ one.title }}", v_for="one in quantities", key=("one.name",), value=("one.name",))
    with html.P():
        html.Label("Show ", for_="part")
        with html.Select(id="part", v_model=("part",)):
            for part in get_args(Part):
                html.Option(_PARTS[part], value=part)
    html.P("{{ bar.title }}; {{ bar.unit }}", classes="quiet", id="bar-title")
    with html.Div(classes="bar"):
        html.Div(classes="colours", style=("bar.style",))
        with html.Ul(classes="ticks"):
            html.Li("{{ tick.text }}", v_for="tick in bar.ticks", key=("tick.text",), style=("tick.style",))
    html.H2("Under the pointer", id="pointer")
    with html.Output(id="readout", aria_labelledby="pointer", __properties=[("aria_labelledby", "aria-labelledby")]):
        html.B("{{ reading }}")
        html.Div("{{ place }}")
    html.H2("Lamps")
    html.P("Dim or age a lamp; the map follows. Its spectrum stays as it is.", classes="quiet")
    for number, lamp in enumerate(page.live.result.lamps):
        name = f"lamp_{number}"
        with html.Div(classes="lamp"):
            html.Label(f"{lamp.name}, share of the level traced", for_=name)
            html.Input(
                type="range",
                id=name,
                min=0,
                max=max(100, round(100 * page.live.levels[number])),
                v_model_number=(name,),
            )
            html.Span(f"{{{{ {name} }}}} %")


def _tables(html: Any) -> None:  # noqa: ANN401  # trame has no types
    html.H2("Zones", id="zones-heading")
    with html.Table(id="zones"):
        with html.Tr():
            for head in ("zone and verdict", "mean UVI", "highest UVI"):
                html.Th(head, scope="col")
        with html.Tr(v_for="zone in zones", key=("zone.name",)):
            with html.Th(scope="row"):
                html.Span("{{ zone.name }}")
                html.Small("{{ zone.verdict }}")
            html.Td("{{ zone.mean }}", classes="number")
            html.Td("{{ zone.highest }}", classes="number")
    html.H2("Bright places")
    with html.Ul():
        html.Li("{{ place }}", v_for="place in places", key=("place",))
    html.H2("Legend")
    with html.Ul(classes="legend"):
        for role, colour in PLAIN_COLOURS.items():
            with html.Li():
                html.I(classes="fill", style=f"background: {colour}")
                html.Span(WORDS[role])
    html.P(SHORT, classes="caution")
