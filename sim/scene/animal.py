"""The animal, as far as light is concerned: how high its back is and where it can be."""

from pydantic import Field

from sim.spec import Spec
from sim.units import Gap


class Animal(Spec):
    """Where the animal's back can be.

    ===========  ===================================================================  ==============================
    key          meaning                                                              default
    ===========  ===================================================================  ==============================
    back_height  height of the back above what the animal stands on                   3 cm
    reach        names of surfaces where it can be                                    floor and all reachable parts
    ===========  ===================================================================  ==============================

    Example::

        [animal]
        back_height = "4 cm"
        reach = ["floor", "ledge.top"]

    Notes
    -----
    Light under a lamp rises fast with height, so a reading on the ground understates what the back receives. The
    default of 3 cm is a small lizard's, from common practice and not from a survey: measure your own animal.
    """

    back_height: Gap = Field(default=0.03, description="height of the back above what the animal stands on")
    reach: tuple[str, ...] | None = Field(
        default=None, description="names of surfaces where it can be; left out: the floor and all reachable parts"
    )
