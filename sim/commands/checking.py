"""Reading a scene file for a command: every fault and every warning in one line, with its place in the file."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from sim.scene.check import Survey


def surveyed(path: Path, named: Callable[[Path], None] = lambda path: None) -> "Survey":
    """Return a scene file's geometry and findings; warnings go to stderr.

    Parameters
    ----------
    path : Path
    named : callable
        Told of each file that the scene names, before it is looked for or read.

    Raises
    ------
    SceneError
        If the file has a fault, with one line for each.
    """
    from sim.scene.check import survey
    from sim.scene.fault import SceneError
    from sim.scene.load import read_document

    document = read_document(path, named)
    seen = survey(document.scene())
    errors = []
    for finding in seen.findings:
        if finding.severity == "error":
            errors.append(document.line(finding.fault, ""))
        else:
            click.echo(document.line(finding.fault, "warning: "), err=True)
    if errors:
        raise SceneError(errors)
    return seen
