"""Files are seen to be saved whatever the way of saving, and are waited for until they are whole."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from sim.commands.watched_files import WatchedFiles


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "scene.toml"
    path.write_text("one", encoding="utf-8")
    return path


def write(path: Path) -> None:
    path.write_text("another", encoding="utf-8")


def write_as_long(path: Path) -> None:
    os.utime(path, ns=(0, 0))
    path.write_text("two", encoding="utf-8")


def replace(path: Path) -> None:
    before = path.stat()
    other = path.with_name("other")
    other.write_text("two", encoding="utf-8")
    os.utime(other, ns=(before.st_atime_ns, before.st_mtime_ns))
    os.replace(other, path)


def remove(path: Path) -> None:
    path.unlink()


@pytest.mark.parametrize("save", [write, write_as_long, replace, remove])
def test_a_save_is_seen_however_it_is_done(save: Callable[[Path], None], scene: Path) -> None:
    files = WatchedFiles(scene)
    assert () == files.saved()
    save(scene)
    assert (scene,) == files.saved()
    files.begin()
    assert () == files.saved()


def test_a_file_that_is_named_is_seen_from_when_it_was_first_read(scene: Path, tmp_path: Path) -> None:
    mesh, gone = tmp_path / "mesh.stl", tmp_path / "gone.stl"
    mesh.write_text("one", encoding="utf-8")
    files = WatchedFiles(scene)
    files.note(mesh)
    files.note(gone)
    assert (scene, mesh, gone) == files.paths
    write(mesh)
    files.note(mesh)  # read again in the same run: what was read first counts
    assert (mesh,) == files.saved()
    write(gone)
    assert (mesh, gone) == files.saved()
    files.begin()
    assert (scene,) == files.paths


def test_a_file_that_is_taken_away_and_written_bit_by_bit_is_waited_for(
    scene: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slowly = [lambda: None, scene.unlink, lambda: None, lambda: None, lambda: scene.touch(), lambda: None]
    slowly += [lambda: add(scene)] * 9
    left = iter(slowly)
    monkeypatch.setattr("sim.commands.watched_files.time.sleep", lambda seconds: next(left, lambda: None)())
    WatchedFiles(scene).wait()
    assert 9 * "more" == scene.read_text(encoding="utf-8")


def add(path: Path) -> None:
    with path.open("a", encoding="utf-8") as file:
        file.write("more")


def test_a_file_that_stays_away_is_not_waited_for_forever(scene: Path) -> None:
    files = WatchedFiles(scene)
    scene.unlink()
    files.wait()
    assert (scene,) == files.saved()
