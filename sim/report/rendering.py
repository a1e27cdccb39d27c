"""From a template and finished text to one self-contained page."""

from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from sim.report.drawn import Drawn


def render(template: str, **content: object) -> str:
    """Return a page as HTML, its style sheet inside.

    Parameters
    ----------
    template : str
        File in the folder of templates.
    **content : object
        What it is filled with; text is escaped.
    """
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=FunctionLoader(_text),
    )
    return environment.get_template(template).render(style=Markup(_text("report.css")), **content).lstrip()


def _text(name: str) -> str:
    return (files("sim.report") / "template" / name).read_text(encoding="utf-8")


def safe(drawn: Drawn | None) -> dict[str, Any] | None:
    """Return a figure for a template; the drawing library has escaped the text in its own output."""
    return None if drawn is None else {**vars(drawn), "svg": Markup(drawn.svg)}
