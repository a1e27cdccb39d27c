"""A solid block."""

from typing import Literal

from sim.furniture.block import Block


class Box(Block):
    """A solid block with edges along x, y and z: a rock, a water bowl, a housing that casts a shadow.

    =========  ==============================================================  ==================
    key        meaning                                                         unit or default
    =========  ==============================================================  ==================
    corner     its lowest corner: smallest x, y and z                          three lengths
    size       its lengths along x, y and z                                    three lengths
    =========  ==============================================================  ==================

    All parts also have: name, law, reachable (default true: an animal can be on its top).

    Example::

        [[parts]]
        name = "stone"
        kind = "box"
        corner = ["20 cm", "15 cm", "0 cm"]
        size = ["25 cm", "20 cm", "8 cm"]
        law = "rock"

    Notes
    -----
    Its faces are ``stone.bottom``, ``.top``, ``.front``, ``.back``, ``.left`` and ``.right``, read from outside, with
    the coordinates of the walls: (x, y), (x, z) and (y, z), counted from the face's lowest corner. A face that stands
    on the floor or against a wall hides what is behind it; the receivers there see nothing.
    """

    kind: Literal["box"]
