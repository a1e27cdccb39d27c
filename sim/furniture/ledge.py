"""A shelf to bask on."""

from typing import Literal

from sim.furniture.block import Block


class Ledge(Block):
    """A board or slab on which animals lie, with edges along x, y and z.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    corner     its lowest corner: smallest x, y and z                          three lengths
    size       its lengths along x, y and z                                    three lengths
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (default true: an animal can be on its top).

    Example::

        [[parts]]
        name = "ledge"
        kind = "ledge"
        corner = ["70 cm", "30 cm", "25 cm"]
        size = ["50 cm", "30 cm", "2 cm"]
        law = "rock"

    Notes
    -----
    It differs from a box by its name alone. Its faces are ``ledge.bottom``, ``.top``, ``.front``, ``.back``, ``.left``
    and ``.right``; a zone on the board lies on ``ledge.top``, whose coordinates are (x, y) from its front left corner.
    """

    kind: Literal["ledge"]
