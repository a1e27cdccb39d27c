"""An unfinished run on disk, so that a long run can be stopped and resumed."""

from dataclasses import fields
from pathlib import Path

import numpy as np

from sim.simulate.tallies import Tallies
from sim.tally.archive import ArchiveError, read_archive, write_archive

NAME = "unfinished.npz"


def run_key(digest: str, seed: int, version: str, on_card: bool) -> str:
    """Return what tallies belong to: a scene by its digest, a seed, a version of the program and a kind of device."""
    return f"{digest} {seed} {version}{' on a card' if on_card else ''}"


def kept_key(path: Path) -> str | None:
    """Return the `run_key` of an unfinished run, or None where there is none that could be taken up."""
    try:
        return str(read_archive(path)["key"]) if path.is_file() else None
    except (ArchiveError, KeyError):
        return None


def save_checkpoint(path: Path, key: str, tallies: Tallies) -> None:
    """Write tallies; the file appears whole or not at all.

    Parameters
    ----------
    path : Path
    key : str
        What the tallies belong to, see `run_key`.
    """
    write_archive(path, {"key": np.array(key), **tallies.arrays()})


def load_checkpoint(path: Path, key: str, like: Tallies) -> Tallies | None:
    """Return the tallies of an unfinished run, or None if there is none, or it belongs to another scene or seed.

    Parameters
    ----------
    like : Tallies
        Of the scene that is to be resumed, for the shapes.
    """
    if not path.is_file():
        return None
    try:
        stored = read_archive(path)
        if str(stored["key"]) != key:
            return None
        found = Tallies(**{item.name: stored[item.name] for item in fields(Tallies)})
    except (ArchiveError, KeyError):
        return None
    shapes = (found.arrays()[name].shape == array.shape for name, array in like.arrays().items())
    return found if all(shapes) else None
