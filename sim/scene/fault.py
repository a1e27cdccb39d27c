"""What is wrong with a scene file: one place, one line."""

from collections.abc import Iterable
from typing import NamedTuple

from sim.scene.position import KeyPath


class Fault(NamedTuple):
    """One thing that is wrong.

    Attributes
    ----------
    path : KeyPath
        Where in the document.
    message : str
        What is wrong there, and what would be right.
    """

    path: KeyPath
    message: str


class SceneError(ValueError):
    """A scene file that cannot be used.

    Parameters
    ----------
    lines : iterable of str
        One line for each thing that is wrong: ``file:line: key.path: what is wrong; what would be right``.

    Attributes
    ----------
    lines : list of str
    """

    def __init__(self, lines: Iterable[str]) -> None:
        self.lines = list(lines)
        super().__init__("\n".join(self.lines))

    def __reduce__(self) -> tuple[type["SceneError"], tuple[list[str]]]:
        """Rebuild from the lines, so that it comes back whole from another process."""
        return type(self), (self.lines,)


def key_text(path: KeyPath) -> str:
    """Return a path as people write it: ``lamps[0].radius``."""
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f"[{key}]"
        else:
            shown = key if key.replace("-", "").replace("_", "").isalnum() else f'"{key}"'
            text += f".{shown}" if text else shown
    return text
