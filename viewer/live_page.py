"""A page in the browser, served to this machine alone: choose what is shown, dim lamps, read numbers.

The picture is drawn here and sent as it changes, so that its colours are those of every other picture.
"""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pyvista as pv

from sim.analysis.numbers import plain, with_error
from sim.analysis.selection import Selection
from sim.report.highest import value_words
from sim.report.wording import value_of
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
                "highest": value_words(zone.high),
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

    from viewer.live_layout import lay_out

    page = LivePage(shown, look)
    server = get_server("vivray", client_type="vue3")
    update = lay_out(server, page)
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
