"""Pictures in three dimensions, which another program draws, as a page shows them."""

import base64
from dataclasses import dataclass


@dataclass(frozen=True)
class Picture:
    """A picture of the model.

    Attributes
    ----------
    name : str
        For ids and links.
    png : bytes
    label : str
        What it shows, told in words for those who cannot see it.
    caption : str
    """

    name: str
    png: bytes
    label: str
    caption: str


@dataclass(frozen=True)
class Pictures:
    """The pictures of a page, or one line that says why there are none and what to install."""

    shown: tuple[Picture, ...] = ()
    left_out: str = ""


def data_address(png: bytes) -> str:
    """Return a picture as an address that holds it whole, so that a page asks for nothing."""
    return f"data:image/png;base64,{base64.b64encode(png).decode('ascii')}"
