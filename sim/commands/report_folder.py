"""The folder of a run that is watched: its files are those of the last run, whole and all of one run."""

import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sim.commands.turn import RESULT
from sim.commands.watched_files import Mark, mark
from sim.report.watched_page import STAMP, asking, resting, stamp_file
from sim.report.write import NAMES, write_whole

PAGE = NAMES["page"]
FILES = (RESULT, *NAMES.values(), STAMP)
"""The stamp last: it tells of a page that is there."""
NEXT = ".next-"
"""How the name of a folder begins that holds the files of a run until they are all made."""


class ChangedByOthersError(Exception):
    """A file of the folder is no longer as this program left it; one line that says which and what to do."""


class ReportFolder:
    """A folder in which the files of each run take the place of those of the one before.

    Only these files are replaced, and only where they are as this program left or found them.

    Parameters
    ----------
    out : Path
        It is there, and what it holds of `FILES` may be replaced. A page in it that asks, since the program that
        watched was killed, finds that of the next run, or rests at the end.
    """

    def __init__(self, out: Path) -> None:
        self._out = out
        self._left = self._marks()
        self._page = _asking_page(out)

    @contextmanager
    def next_run(self) -> Iterator[Path]:
        """Yield a folder to write into; in the end its files are put in place, or dropped where the block raises.

        Raises
        ------
        ChangedByOthersError
            If one of them would replace what somebody else wrote; none is put in place then.
        """
        self._out.mkdir(parents=True, exist_ok=True)  # somebody may have taken it away
        with tempfile.TemporaryDirectory(prefix=NEXT, dir=self._out) as folder, _held(Path(folder)):
            place = Path(folder)
            yield place
            page = (place / PAGE).read_bytes().decode()
            write_whole(place / PAGE, asking(page))
            write_whole(place / STAMP, stamp_file(page))
            changed = self._changed()
            if changed:
                raise ChangedByOthersError(
                    f"{self._out / changed[0]}: changed by somebody else since it was written, so no file of this run "
                    "took the place of an older one; move it away, and save the scene again"
                )
            for name in FILES:
                os.replace(place / name, self._out / name)
            self._left, self._page = self._marks(), page

    @property
    def has_page(self) -> bool:
        """Whether there is a page here that the next one takes the place of."""
        return self._page is not None

    def show_early(self, page: str) -> None:
        """Put the page of a run that is under way in place, until its files are all made.

        It takes the place of a page that is whole, which comes back in the end if nothing else comes before; where
        there is none, or a file is somebody else's, it is dropped.
        """
        if not self.has_page or self._changed() or not self._out.is_dir():
            return
        write_whole(self._out / PAGE, asking(page))
        write_whole(self._out / STAMP, stamp_file(page))
        self._left |= {name: mark(self._out / name) for name in (PAGE, STAMP)}

    def end(self) -> None:
        """Leave a page that asks for nothing; one that is open in a browser loads it a last time."""
        now = self._marks()
        if self._page is not None and all(now[name] == self._left[name] for name in (PAGE, STAMP)):
            write_whole(self._out / PAGE, self._page)
            (self._out / STAMP).unlink()

    def _changed(self) -> list[str]:
        now = self._marks()
        return [name for name in FILES if now[name] is not None and now[name] != self._left[name]]

    def _marks(self) -> dict[str, Mark | None]:
        return {name: mark(self._out / name) for name in FILES}


def clear_unfinished(out: Path) -> None:
    """Remove what programs that were killed left of the files of a next run, and nothing else.

    That of a program which is alive stays, and so does a folder of that name with a file that no run makes.
    """
    for place in out.glob(f"{NEXT}*"):
        with suppress(OSError), _held(place):
            if all(any(name in there.name for name in FILES) for there in place.iterdir()):
                shutil.rmtree(place)


@contextmanager
def _held(place: Path) -> Iterator[None]:
    """Hold a folder, so that others can tell that somebody does, until the block or this program ends.

    Raises
    ------
    OSError
        If another holds it, or it is no folder.
    """
    folder = os.open(place, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(folder)


def _asking_page(out: Path) -> str | None:
    """Return the page, at rest, of a program that was killed while it watched, or None where there is none."""
    try:
        return resting((out / PAGE).read_bytes().decode()) if (out / STAMP).is_file() else None
    except (OSError, UnicodeDecodeError):
        return None
