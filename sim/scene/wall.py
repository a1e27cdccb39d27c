"""The walls of a box, their laws and the openings in them."""

from pydantic import Field, model_validator

from sim.materials.law import LawRef
from sim.scene.wall_names import WALLS, Wall
from sim.spec import Spec
from sim.units import Gap, Length


class Walls(Spec):
    """The law of each wall of the box.

    =======  ==================================  ===========================
    key      meaning                             default
    =======  ==================================  ===========================
    floor    law of the wall at z = 0            `all`
    ceiling  of the one opposite                 `all`
    front    of the wall at y = 0                `all`
    back     of the one opposite                 `all`
    left     of the wall at x = 0                `all`
    right    of the one opposite                 `all`
    all      law of the walls not named          needed unless all six are
    =======  ==================================  ===========================

    Example::

        [enclosure.walls]
        all = "melamine-white"
        floor = "sand-dry"

    Notes
    -----
    A screen as ``ceiling`` makes the whole top a mesh lid.
    """

    all: LawRef | None = Field(default=None, description="law of the walls not named")
    floor: LawRef | None = Field(default=None, description="law of the floor")
    ceiling: LawRef | None = Field(default=None, description="law of the ceiling")
    front: LawRef | None = Field(default=None, description="law of the wall at y = 0")
    back: LawRef | None = Field(default=None, description="law of the wall opposite the front")
    left: LawRef | None = Field(default=None, description="law of the wall at x = 0")
    right: LawRef | None = Field(default=None, description="law of the wall opposite the left one")

    @model_validator(mode="after")
    def _every_wall_has_a_law(self) -> "Walls":
        bare = [wall for wall in WALLS if getattr(self, wall) is None]
        if bare and self.all is None:
            raise ValueError(f"no law for {', '.join(bare)}; name one for each, or all = 'melamine-white' for the rest")
        return self

    def law(self, wall: Wall) -> LawRef:
        """Return the law of a wall."""
        own: LawRef | None = getattr(self, wall)
        law = self.all if own is None else own
        assert law is not None  # the validator saw to it
        return law


class Opening(Spec):
    """A rectangle cut out of a wall, open or covered.

    =======  ==================================================================  ==================
    key      meaning                                                             unit or default
    =======  ==================================================================  ==================
    wall     floor | ceiling | front | back | left | right
    corner   its lowest corner in the wall's own coordinates                     two lengths
    size     its lengths along them                                              two lengths
    cover    law of what covers it, such as a screen or a pane                   an open hole
    =======  ==================================================================  ==================

    Example::

        [[enclosure.openings]]
        wall = "ceiling"
        corner = ["10 cm", "10 cm"]
        size = ["40 cm", "20 cm"]
        cover = { kind = "screen", wire = "0.28 mm", pitch = "1.5875 mm" }

    Notes
    -----
    A wall's coordinates are (x, y) on floor and ceiling, (x, z) on front and back, (y, z) on left and right. What
    leaves through an open hole is lost, unless it comes back by the same or another one. A cover is a surface of its
    own: ``ceiling.opening 1`` is the first of the ceiling.
    """

    wall: Wall
    corner: tuple[Gap, Gap]
    size: tuple[Length, Length]
    cover: LawRef | None = Field(default=None, description="law of what covers it; left out: an open hole")
