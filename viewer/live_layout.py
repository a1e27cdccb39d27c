"""The live page's controls, bar, readings and tables, laid out in the browser."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

from sim.analysis.selection import Part
from sim.report.cautions import SHORT
from sim.spectra.weighting import WEIGHTINGS
from viewer.beside import PLAIN_COLOURS, WORDS
from viewer.live_page import LivePage
from viewer.web_words import label_of

_FOLDER = Path(__file__).parent / "page"
_HINT = "Point at a surface. Drag to turn, scroll to come nearer, drag with Shift to move."
# Attributes that the widgets do not know by themselves.
_FOR: dict[str, Any] = {"__properties": [("for_", "for")]}
_ARIA: dict[str, Any] = {
    "__properties": [
        "role",
        ("aria_label", "aria-label"),
        ("aria_labelledby", "aria-labelledby"),
    ]
}
_PARTS: dict[Part, str] = {"value": "its value", "error": "its standard error"}


def lay_out(server: Any, page: LivePage) -> Callable[[], None]:  # noqa: ANN401  # trame has no types
    """Build the page and return what sends the picture anew."""
    from trame.ui.html import DivLayout
    from trame.widgets import client, html
    from trame.widgets import vtk as vtk_widgets

    state, result = server.state, page.live.result
    state.trame__title = result.meta.title or result.meta.scene
    state.update(_first(page))
    with DivLayout(server):
        client.Style((_FOLDER / "page.css").read_text(encoding="utf-8"))
        client.Script((_FOLDER / "live.js").read_text(encoding="utf-8"))
        with html.Header():
            html.H1(state.trame__title)
            html.P(f"{result.meta.scene}, {result.meta.histories} photons, seed {result.meta.seed}")
        with html.Main():
            box = "$event.currentTarget.getBoundingClientRect()"
            where = f"[$event.clientX - {box}.left, $event.clientY - {box}.top, {box}.width, {box}.height]"
            with html.Div(
                classes="stage",
                mousemove=(_point(server, page), where),
                role="img",
                aria_label=label_of(page.live.whole),
                **_ARIA,
            ):
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
        html.Label("Quantity ", for_="quantity", **_FOR)
        with html.Select(id="quantity", v_model=("quantity",)):
            html.Option("{{ one.title }}", v_for="one in quantities", key=("one.name",), value=("one.name",))
    with html.P():
        html.Label("Show ", for_="part", **_FOR)
        with html.Select(id="part", v_model=("part",)):
            for part in get_args(Part):
                html.Option(_PARTS[part], value=part)
    html.P("{{ bar.title }}; {{ bar.unit }}", classes="quiet", id="bar-title")
    with html.Div(classes="bar"):
        html.Div(classes="colours", style=("bar.style",))
        with html.Ul(classes="ticks"):
            html.Li("{{ tick.text }}", v_for="tick in bar.ticks", key=("tick.text",), style=("tick.style",))
    html.H2("Under the pointer", id="pointer")
    with html.Output(id="readout", aria_labelledby="pointer", **_ARIA):
        html.B("{{ reading }}")
        html.Div("{{ place }}")
    html.H2("Lamps")
    html.P("Dim or age a lamp; the map follows. Its spectrum stays as it is.", classes="quiet")
    for number, lamp in enumerate(page.live.result.lamps):
        name = f"lamp_{number}"
        with html.Div(classes="lamp"):
            html.Label(f"{lamp.name}, share of the level traced", for_=name, **_FOR)
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


def _point(server: Any, page: LivePage) -> Callable[..., None]:  # noqa: ANN401  # trame has no types
    """Return what is called with the pointer's place: it tells what lies there."""

    def pointed(left: float, top: float, width: float, height: float) -> None:
        if width > 0 and height > 0:
            server.state.reading, server.state.place = page.reading(left, top, width, height)

    return pointed
