"""What a check of a scene finds."""

from typing import Literal, NamedTuple

from sim.scene.fault import Fault
from sim.scene.position import KeyPath

Severity = Literal["error", "warning"]


class Finding(NamedTuple):
    """One thing that a check finds.

    Attributes
    ----------
    severity : {"error", "warning"}
        A scene with an error cannot be traced to any use; one with a warning may be meant so.
    where : KeyPath
        The key of the scene that should change.
    message : str
        What is wrong, and what would be right.
    """

    severity: Severity
    where: KeyPath
    message: str

    @property
    def fault(self) -> Fault:
        """The same without its severity."""
        return Fault(self.where, self.message)
