"""Every kind of lamp; a new one is one class and its place here."""

from typing import Annotated

from pydantic import Field

from sim.lamps.compact import Compact
from sim.lamps.panel import Panel
from sim.lamps.spot import Spot
from sim.lamps.tube import Tube

Lamp = Annotated[Tube | Compact | Panel | Spot, Field(discriminator="kind")]
"""Any lamp, told apart by its kind (and a compact lamp by its form)."""
