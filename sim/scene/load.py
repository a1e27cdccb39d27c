"""From a TOML file to a validated scene, or to one line for each thing that is wrong with it."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from sim.scene.explain import explain
from sim.scene.fault import Fault, SceneError, key_text
from sim.scene.model import NAMES_FAULT, Scene
from sim.scene.partial import name_faults
from sim.scene.position import Positions
from sim.scene.schema import scene_schema
from sim.scene.syntax import parse
from sim.scene.vocabulary import Vocabulary

Named = Callable[[Path], None]
"""Told of each file that a scene names, before it is looked for or read."""


def _untold(path: Path) -> None:
    """Nobody asks."""


@dataclass(frozen=True)
class Document:
    """A scene file that is valid TOML.

    Attributes
    ----------
    path : Path
        As it was given; messages begin with it.
    data : dict
        Its tables.
    positions : Positions
        Where its keys stand.
    named : callable
        See `Named`.
    """

    path: Path
    data: dict[str, Any]
    positions: Positions
    named: Named = _untold

    def line(self, fault: Fault, severity: str = "") -> str:
        """Return the line that tells a fault: ``file:line: key.path: message``."""
        # What the whole file lacks is told of its first line.
        number = self.positions.line_of(fault.path) or 1
        key = f"{key_text(fault.path)}: " if fault.path else ""
        return " ".join(f"{self.path}:{number}: {severity}{key}{fault.message}".split())

    def scene(self) -> Scene:
        """Return the scene that the document says.

        Raises
        ------
        SceneError
            With a line for each fault, in the order of the file.
        """
        try:
            return self._validated(self.data)
        except ValidationError as error:
            faults = self._faults(error)
        ordered = sorted(faults, key=lambda fault: self.positions.line_of(fault.path) or 0)
        raise SceneError(self.line(fault) for fault in ordered)

    def _validated(self, data: dict[str, Any]) -> Scene:
        return Scene.model_validate(data, context={"folder": self.path.parent, "named": self.named})

    def _faults(self, error: ValidationError) -> list[Fault]:
        details = error.errors(include_url=False)
        if details[0]["type"] == NAMES_FAULT:
            names: list[Fault] = details[0]["ctx"]["faults"]
            return names
        faults = explain(details, self.data, Vocabulary(scene_schema()))
        return faults + name_faults(self.data, faults, self._validated)


def read_document(path: str | Path, named: Named = _untold) -> Document:
    """Return a scene file as tables.

    Parameters
    ----------
    path : str or Path
    named : callable
        Told of the files that the scene names, once its document is asked for it.

    Raises
    ------
    SceneError
        With one line, if the file cannot be read or is no TOML.
    """
    data, positions = parse(Path(path))
    return Document(Path(path), data, positions, named)


def load_scene(path: str | Path) -> Scene:
    """Return the validated scene of a TOML file; files that it names are looked up beside it.

    Raises
    ------
    SceneError
        With one line for each thing that is wrong: ``file:line: key.path: what is wrong; what would be right``.
    """
    return read_document(path).scene()
