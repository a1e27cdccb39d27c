"""A result on disk: it comes back as it was, or is refused in one line."""

import errno
from pathlib import Path

import numpy as np
import pytest

from sim.tally.result import ResultError, load_result
from tests.support.damage import DAMAGES
from tests.support.synthetic_result import terrarium


def test_a_result_comes_back_as_it_was(tmp_path: Path) -> None:
    result, path, again = terrarium(replicates=4), tmp_path / "result.npz", tmp_path / "again.npz"
    result.save(path)
    back = load_result(path)
    assert (result.meta, result.groups, result.scene) == (back.meta, back.groups, back.scene)
    assert np.array_equal(result.irradiance, back.irradiance)
    back.save(again)
    assert path.read_bytes() == again.read_bytes()


@pytest.mark.parametrize("kind", DAMAGES)
def test_a_damaged_result_is_refused_in_one_line(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "result.npz"
    terrarium(replicates=4).save(path)
    path.write_bytes(DAMAGES[kind](path.read_bytes()))
    with pytest.raises(ResultError) as refused:
        load_result(path)
    line = str(refused.value)
    assert line.startswith(f"{path}: not a result file")
    assert "\n" not in line


@pytest.mark.parametrize(
    "arrays",
    [
        {"other": np.zeros(3)},
        {"header": np.array("[1, 2]")},
        {"header": np.array('{"meta": {"format": 1}}')},
        {"header": np.array([1.0, 2.0])},
    ],
)
def test_an_archive_of_something_else_is_refused_in_one_line(arrays: dict[str, np.ndarray], tmp_path: Path) -> None:
    path = tmp_path / "result.npz"
    np.savez(path, **arrays)
    with pytest.raises(ResultError) as refused:
        load_result(path)
    assert "\n" not in str(refused.value)


def test_a_missing_file_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(ResultError, match=r"is a folder; give the result\.npz in it"):
        load_result(tmp_path)
    with pytest.raises(ResultError, match="no such file"):
        load_result(tmp_path / "nothing.npz")


def test_a_disk_that_is_full_is_told_with_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(np, "savez", full)
    with pytest.raises(OSError, match=r"No space left on device: '.*result\.npz'"):
        terrarium(replicates=4).save(tmp_path / "result.npz")
    assert list(tmp_path.iterdir()) == []
