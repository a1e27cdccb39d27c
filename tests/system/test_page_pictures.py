"""Pictures of a page, from a viewer that was started long before there was a result."""

import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from sim.commands.page_pictures import PageArtist, page_artist
from sim.report.lengths import CENTIMETRES
from sim.report.pictures import Pictures
from tests.support.synthetic_result import terrarium
from viewer.gl import NoGLError, require_gl

pytestmark = [pytest.mark.system, pytest.mark.viewer]


@pytest.fixture
def temporary(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder of temporary files of this process and those that it starts, which is empty."""
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    monkeypatch.setenv("TMPDIR", str(folder))
    return folder


def drawn(tmp_path: Path, before: Callable[[PageArtist], None]) -> Pictures:
    """Return the pictures of a result, which comes after something else has happened to the viewer."""
    result = terrarium(replicates=4)
    result.save(tmp_path / "result.npz")
    with page_artist() as artist:
        assert artist is not None
        before(artist)
        return artist.begin(tmp_path / "result.npz", result, CENTIMETRES)()


def names(pictures: Pictures) -> tuple[str, list[str]]:
    return pictures.left_out, [picture.name for picture in pictures.shown if picture.png.startswith(b"\x89PNG")]


def test_they_outlive_a_cleaner_of_temporary_files(tmp_path: Path, temporary: Path) -> None:
    def clean(artist: PageArtist) -> None:
        for path in temporary.iterdir():
            shutil.rmtree(path)

    assert ("", ["corner", "cut"]) == names(drawn(tmp_path, clean))


def test_they_come_one_by_one_from_a_viewer_that_died(tmp_path: Path, temporary: Path) -> None:
    def end(artist: PageArtist) -> None:
        artist._child.kill()
        artist._child.wait()

    assert ("", ["corner", "cut"]) == names(drawn(tmp_path, end))
    assert [] == list(temporary.iterdir())


def test_nobody_has_to_wait_for_them(tmp_path: Path, temporary: Path) -> None:
    def give_up() -> None:
        raise InterruptedError

    result = terrarium(replicates=4)
    result.save(tmp_path / "result.npz")
    with page_artist() as artist:
        assert artist is not None
        pictures = artist.begin(tmp_path / "result.npz", result, CENTIMETRES, give_up)
        with pytest.raises(InterruptedError):
            pictures()
    assert [] == list(temporary.iterdir())


def test_a_run_that_is_killed_leaves_nothing_behind(temporary: Path) -> None:
    waiting = (
        "import time; from sim.commands.page_pictures import page_artist\n"
        "with page_artist(): print('begun', flush=True); time.sleep(600)"
    )
    run = subprocess.Popen([sys.executable, "-c", waiting], stdout=subprocess.PIPE, text=True)
    assert run.stdout is not None
    with run, run.stdout:
        assert "begun\n" == run.stdout.readline()
        run.send_signal(signal.SIGKILL)
    assert [] == list(temporary.iterdir())
