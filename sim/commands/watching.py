"""``vivray run --watch``: a scene is traced again each time its file, or a file that it names, is saved.

The program stays, so that libraries and compiled kernels are loaded once. Nothing of one run is left for the next: each
gives the numbers that it would give alone.
"""

import time
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.commands.checking import surveyed
from sim.commands.page_pictures import page_artist
from sim.commands.report_folder import ChangedByOthersError, ReportFolder
from sim.commands.turn import Asked, Ended, early_page, print_tables, tell_files, traced, write
from sim.commands.watched_files import WatchedFiles
from sim.furniture.imported import keep_meshes
from sim.scene.fault import SceneError
from sim.simulate.readings import Readings

if TYPE_CHECKING:
    from sim.analysis.change import Means
    from sim.analysis.coverage import SceneAnswer
    from sim.commands.page_pictures import PageArtist


class Outdated(Exception):  # not an error: the next run is of what was saved
    """A file was saved while its scene was traced."""


class Watch:
    """A scene that is run again and again.

    Parameters
    ----------
    asked : Asked
    drawn : bool
        Whether the page has pictures in three dimensions.
    """

    def __init__(self, asked: Asked, drawn: bool) -> None:
        self._asked = asked
        self._drawn = drawn and asked.out is not None
        self._files = WatchedFiles(asked.scene)
        self._folder = None if asked.out is None else ReportFolder(asked.out)
        self._begun = self._tracing = False
        self._since = 0.0
        self._means: Means | None = None
        self._readings = Readings()
        keep_meshes()

    def until_ctrl_c(self) -> int:
        """Run the scene, and again whenever a file was saved; return the exit code.

        That is 0 where Ctrl-C came while nothing was traced, and otherwise that of a run that is stopped.
        """
        try:
            return self._exit_code()
        except KeyboardInterrupt:
            if self._tracing:
                raise
            return 0
        finally:
            if self._folder is not None:
                self._folder.end()

    def _exit_code(self) -> int:
        while True:
            # The viewer draws one page and ends; the one for the next page loads what it needs while we wait.
            with page_artist(self._drawn) as artist:
                while artist is None or not artist.asked:
                    if self._begun:
                        self._wait()
                    self._begun = True
                    if self._stopped(artist):
                        return 130

    def _wait(self) -> None:
        """Wait until the next run is due."""
        if not self._files.saved():
            self._say(f"watching {_names(self._files.paths)}; Ctrl-C ends")
        self._files.wait()
        self._say(f"{_names(self._files.saved())} saved")

    def _stopped(self, artist: "PageArtist | None") -> bool:
        """Run the scene; return whether Ctrl-C stopped it."""
        self._files.begin()
        self._tracing, self._since = True, time.monotonic()
        try:
            seen = surveyed(self._asked.scene, self._files.note)
            show = self._show if self._shows_early else None
            ended = traced(seen, self._asked, self._tell, self._look, self._readings, show)
            self._keep(ended, artist)
            return ended.interrupted
        except SceneError as error:
            click.echo(str(error), err=True)
        except Outdated:
            pass
        except OSError:
            if not self._files.saved():
                raise  # or else a file was taken away while it was read
        self._tracing = False
        return False

    @property
    def _shows_early(self) -> bool:
        """Whether there is a page that one of a run under way takes the place of."""
        return self._folder is not None and self._folder.has_page

    def _look(self) -> None:
        if self._files.saved():
            raise Outdated

    def _tell(self, told: "SceneAnswer") -> None:
        from sim.analysis.change import area_means

        print_tables(told, self._asked.unit)
        before, self._means = self._means, area_means(told)
        if before is not None:
            _print_changes(before, self._means)
        self._show(told)

    def _show(self, told: "SceneAnswer") -> None:
        """Put a page of the run so far in the place of the one before."""
        if self._folder is not None and self._folder.has_page:
            elapsed_s = time.monotonic() - self._since
            self._folder.show_early(early_page(told, self._asked, elapsed_s, self._drawn, self._look))

    def _keep(self, ended: Ended, artist: "PageArtist | None") -> None:
        """Write the files of a run, if there is a folder for them."""
        left_out = ""
        if self._folder is not None:
            try:
                with self._folder.next_run() as place:
                    left_out = write(ended, self._asked, place, artist, self._look)
            except ChangedByOthersError as error:
                self._tracing = False
                click.echo(str(error), err=True)
                return
        self._tracing = False  # before anybody is told that it is done
        tell_files(ended, self._asked, left_out)

    def _say(self, line: str) -> None:
        if not self._asked.quiet:
            click.echo(line, err=True)


def _print_changes(before: "Means", now: "Means") -> None:
    from rich.console import Console

    from sim.analysis.change import changes
    from sim.report.comparison_tables import change_table

    found = changes(before, now)
    if found:
        Console().print(change_table(found))


def _names(paths: Iterable[Path]) -> str:
    return ", ".join(path.name for path in paths)
