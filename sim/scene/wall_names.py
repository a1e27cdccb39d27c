"""The names of the walls of a box: all that those who read results need to know of walls."""

from typing import Literal, get_args

Wall = Literal["floor", "ceiling", "front", "back", "left", "right"]
WALLS: tuple[Wall, ...] = get_args(Wall)
"""The walls, in the order in which they are built."""
