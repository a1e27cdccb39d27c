"""Any piece of furniture."""

from typing import Annotated

from pydantic import Field

from sim.furniture.box import Box
from sim.furniture.branch import Branch
from sim.furniture.hide import Hide
from sim.furniture.imported import Imported
from sim.furniture.ledge import Ledge
from sim.furniture.plant import Plant
from sim.furniture.plate import Plate
from sim.furniture.sphere import Sphere

Part = Annotated[
    Box | Ledge | Branch | Hide | Plate | Sphere | Plant | Imported,
    Field(discriminator="kind"),
]
"""Any part, told apart by its kind."""
