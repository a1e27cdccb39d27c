"""Arrays by name in one file: it appears whole or not at all, and what is damaged is told from what is sound."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt


class ArchiveError(ValueError):
    """A file that is no archive of arrays, or a damaged one; its message is one line."""


def write_archive(path: Path, arrays: Mapping[str, npt.NDArray[Any]]) -> None:
    """Write arrays as ``.npz``, uncompressed, so that the same arrays give the same bytes."""
    partial = path.with_name(path.name + ".part")
    try:
        with partial.open("wb") as file:
            np.savez(file, allow_pickle=False, **arrays)
        os.replace(partial, path)
    except OSError as error:
        if error.strerror is not None:
            error.filename = str(path)  # a full disk names no file
        raise
    finally:
        partial.unlink(missing_ok=True)


def read_archive(path: Path) -> dict[str, npt.NDArray[Any]]:
    """Return all arrays of a file.

    Raises
    ------
    ArchiveError
        If the file cannot be read, is no archive, or does not agree with its own checksums.
    """
    try:
        with path.open("rb") as file:
            if file.read(2) != b"PK":
                raise ArchiveError("it is no archive")
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            return {key: stored[key] for key in stored.files}
    except ArchiveError:
        raise
    except Exception as error:
        # Readers of zip and of headers, and memory too, complain of damage in a dozen ways.
        raise ArchiveError(" ".join(f"{type(error).__name__}: {error}".split())) from None
