"""From a template and finished text to one self-contained page."""

from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from sim.report.drawn import Drawn
from sim.report.prose import unbroken


def _kept_together(value: object) -> object:
    """Return what a template fills in; markup and addresses of pictures stay as they are."""
    return unbroken(value) if type(value) is str and not value.startswith("data:") else value


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
        finalize=_kept_together,
        loader=FunctionLoader(_text),
    )
    return environment.get_template(template).render(style=Markup(_text("report.css")), **content).lstrip()


def _text(name: str) -> str:
    text = (files("sim.report") / "template" / name).read_text(encoding="utf-8")
    return unbroken(text) if name.endswith(".html") else text


def safe(drawn: Drawn | None) -> dict[str, Any] | None:
    """Return a figure for a template; the drawing library has escaped the text in its own output."""
    return None if drawn is None else {**vars(drawn), "svg": Markup(drawn.svg)}
