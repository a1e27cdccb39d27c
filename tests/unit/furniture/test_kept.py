"""Meshes are read once while their files stay as they are."""

import os
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from sim.furniture import imported
from sim.furniture.imported import Imported, keep_meshes, read_mesh
from sim.furniture.kept import SETTLED_S, Kept
from sim.geometry.solids import sphere

LONG_AGO = 1000.0


def saved(path: Path, text: str, ago: float = LONG_AGO) -> Path:
    path.write_text(text, encoding="utf-8")
    then = time.time() - ago
    os.utime(path, (then, then))
    return path


def counting(made: list[str], text: str) -> Callable[[], str]:
    def make() -> str:
        made.append(text)
        return text

    return make


def test_what_a_file_gave_is_made_once(tmp_path: Path) -> None:
    kept, made, path = Kept[str](len, 100), list[str](), saved(tmp_path / "a", "a")
    for how in (1, 2, 1, 2, 1):
        assert kept.of(path, how, counting(made, f"of {how}")) == f"of {how}"
    assert made == ["of 1", "of 2"]


def test_a_file_saved_anew_is_looked_at_anew(tmp_path: Path) -> None:
    kept, made, path = Kept[str](len, 100), list[str](), saved(tmp_path / "a", "a")
    kept.of(path, 0, counting(made, "first"))
    saved(path, "b", LONG_AGO - 1.0)
    assert kept.of(path, 0, counting(made, "second")) == "second"
    path.unlink()
    with pytest.raises(FileNotFoundError):
        kept.of(path, 0, counting(made, "none"))


def test_a_file_that_may_be_saved_again_at_the_same_time_is_not_kept(tmp_path: Path) -> None:
    kept, made = Kept[str](len, 100), list[str]()
    path = saved(tmp_path / "a", "a", 0.5 * SETTLED_S)
    for text in ("first", "second"):
        assert kept.of(path, 0, counting(made, text)) == text


def test_no_more_is_kept_than_was_said_and_the_longest_unused_goes_first(tmp_path: Path) -> None:
    kept, made, path = Kept[str](len, 8), list[str](), saved(tmp_path / "a", "a")
    for text in ("one", "two", "one", "three", "one", "two", "much too long", "one"):
        assert kept.of(path, text, counting(made, text)) == text
    assert made == ["one", "two", "three", "two", "much too long", "one"]


def test_a_part_is_read_and_cut_once_while_its_file_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(imported._READ, "most", 0)
    monkeypatch.setattr(imported._CUT, "most", 0)
    path = saved(tmp_path / "ball.obj", obj(0.1))
    part = Imported.model_validate(
        {"name": "ball", "kind": "mesh", "file": "ball.obj", "unit": "m", "at": ["1 m", "0 m", "0 m"], "law": "rock"},
        context={"folder": tmp_path},
    )
    (once,), (again,) = part.surfaces(0.05), part.surfaces(0.05)
    assert once.mesh is not again.mesh
    keep_meshes()
    (once,), (again,) = part.surfaces(0.05), part.surfaces(0.05)
    assert once.mesh is again.mesh
    assert read_mesh(path, "m") is read_mesh(path, "m")
    moved = part.model_copy(update={"at": (2.0, 0.0, 0.0)})
    assert np.allclose(moved.surfaces(0.05)[0].mesh.bounds, np.add(once.mesh.bounds, [1.0, 0.0, 0.0]))
    assert moved.surfaces(0.02)[0].mesh is not moved.surfaces(0.05)[0].mesh
    saved(path, obj(0.2), LONG_AGO - 1.0)
    larger = part.surfaces(0.05)[0].mesh.bounds
    assert np.allclose(np.diff(larger, axis=0), 2.0 * np.diff(once.mesh.bounds, axis=0))


def obj(radius: float) -> str:
    ball = sphere(np.zeros(3), radius, 2)
    corners = (f"v {x!r} {y!r} {z!r}" for x, y, z in ball.vertices.tolist())
    return "\n".join([*corners, *(f"f {a + 1} {b + 1} {c + 1}" for a, b, c in ball.faces.tolist())]) + "\n"
