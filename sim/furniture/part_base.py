"""What every piece of furniture has: a name, a law, surfaces."""

from abc import abstractmethod

from pydantic import Field

from sim.materials.law import LawRef
from sim.materials.surface import Surface
from sim.spec import Name, Spec


class PartBase(Spec):
    """A piece of furniture."""

    name: Name = Field(description="how results call it")
    law: LawRef = Field(description="what its surface does with light")
    reachable: bool = Field(default=True, description="whether an animal can be on it")

    @property
    def surface_names(self) -> tuple[str, ...]:
        """Names of its surfaces, in the order of `surfaces`."""
        return (self.name,)

    @abstractmethod
    def surfaces(self, receiver_size: float) -> list[Surface]:
        """Return its surfaces with receivers of about a size [m]."""
