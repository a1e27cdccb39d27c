"""A figure that is ready for a page."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Drawn:
    """A figure on the page.

    Attributes
    ----------
    name : str
        For ids and links.
    svg : str
    label : str
        What it shows, told in words: the maximum and its place.
    caption : str
    """

    name: str
    svg: str
    label: str
    caption: str
