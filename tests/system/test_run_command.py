"""`vivray run` from outside: exit codes, files, Ctrl-C and going on, and what is refused."""

import importlib.util
import json
import os
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.commands.kernels_ahead import COMPILING, OF_FIXTURE, OF_RUN
from sim.simulate.ahead import KERNELS
from sim.tally.result import load_result
from tests.support.damage import DAMAGES
from tests.support.scene_text import VIVARIUM
from tests.support.synthetic_result import terrarium
from tests.support.terminal import PATIENCE_S, Terminal, command

pytestmark = pytest.mark.system

ROOT = Path(__file__).resolve().parents[2]
FILES = {"result.npz", "report.html", "summary.json", "receivers.csv"}
HISTORIES = "12800"


def vivray(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command(*arguments), cwd=ROOT, capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )


def scene_file(folder: Path, target: str = "exposure_zone = 3") -> Path:
    path = folder / "scene.toml"
    path.write_text(VIVARIUM.replace("exposure_zone = 3", target), encoding="utf-8")
    return path


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    return scene_file(tmp_path)


def test_a_run_writes_its_files_and_ends_with_0(scene: Path, tmp_path: Path) -> None:
    done = vivray("run", scene, "--out", tmp_path / "out", "--histories", HISTORIES, "--json", "--quiet")
    assert (0, "") == (done.returncode, done.stderr)
    assert {path.name for path in (tmp_path / "out").iterdir()} == FILES
    told = json.loads(done.stdout)
    assert int(HISTORIES) == told["histories"]
    assert "A tube under the lid" == told["title"]


def test_a_second_run_does_not_overwrite_the_first(scene: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = vivray("run", scene, "--out", out, "--histories", HISTORIES, "--quiet")
    before = (out / "result.npz").read_bytes()
    second = vivray("run", scene, "--out", out, "--histories", HISTORIES, "--seed", "2", "--quiet")
    assert (0, 2) == (first.returncode, second.returncode)
    assert "--force" in second.stderr
    assert before == (out / "result.npz").read_bytes()
    third = vivray("run", scene, "--out", out, "--histories", HISTORIES, "--seed", "2", "--quiet", "--force")
    assert 0 == third.returncode
    assert before != (out / "result.npz").read_bytes()


@pytest.mark.parametrize(("target", "code"), [("mean = [500.0, 600.0]", 1), ("mean = [0.0, 1000.0]", 0)])
def test_strict_tells_by_the_exit_code_whether_targets_are_met(target: str, code: int, tmp_path: Path) -> None:
    path = scene_file(tmp_path, target)
    assert code == vivray("run", path, "--histories", HISTORIES, "--quiet", "--strict").returncode


def test_without_strict_a_missed_target_is_no_failure(tmp_path: Path) -> None:
    path = scene_file(tmp_path, "mean = [500.0, 600.0]")
    assert 0 == vivray("run", path, "--histories", HISTORIES, "--quiet").returncode


@pytest.mark.parametrize("damage", ["cut short", "middle"])
def test_a_report_of_a_damaged_result_is_refused_in_one_line(damage: str, tmp_path: Path) -> None:
    path = tmp_path / "result.npz"
    terrarium(replicates=4).save(path)
    path.write_bytes(DAMAGES[damage](path.read_bytes()))
    done = vivray("report", path, "--out", tmp_path / "other")
    assert (2, "") == (done.returncode, done.stdout)
    assert 1 == len(done.stderr.splitlines())
    assert done.stderr.startswith(f"{path}: not a result file")


@pytest.fixture
def endless(scene: Path, tmp_path: Path) -> Iterator[Terminal]:
    """A run of far more photons than anybody waits for."""
    terminal = Terminal(command("run", scene, "--out", tmp_path / "out", "--histories", "1e12", "--threads", "1"))
    yield terminal
    terminal.close()


def test_ctrl_c_keeps_what_was_traced_and_the_next_run_goes_on(endless: Terminal, scene: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    endless.wait_for(r"0\.[1-9]\d* million photons")
    endless.process.send_signal(signal.SIGINT)
    assert 130 == endless.ended()
    assert {path.name for path in out.iterdir()} == FILES | {"unfinished.npz"}
    first = load_result(out / "result.npz").meta.histories
    assert 0 < first < 10**12
    # Another run than the same would lose all that was traced.
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    other = scene.with_name("other.toml")
    other.write_text(scene.read_text(encoding="utf-8").replace("title = ", "title = 'other' #"), encoding="utf-8")
    for words in ((other,), (scene, "--seed", "9"), (other, "--watch")):
        refused = vivray("run", *words, "--out", out, "--histories", "1", "--quiet")
        assert (2, 1) == (refused.returncode, len(refused.stderr.splitlines())), refused.stderr
        assert (
            "holds unfinished.npz, all that a stopped run of another scene, seed, device or version" in refused.stderr
        )
    assert before == {path.name: path.read_bytes() for path in out.iterdir()}
    # It asks for one photon, and has those of the first run: nothing is traced again, nothing is lost.
    again = vivray("run", scene, "--out", out, "--histories", "1", "--quiet")
    assert 0 == again.returncode
    assert first == load_result(out / "result.npz").meta.histories
    assert {path.name for path in out.iterdir()} == FILES


def test_ctrl_c_before_anything_is_traced_ends_with_130(scene: Path, tmp_path: Path) -> None:
    terminal = Terminal(command("run", scene, "--out", tmp_path / "out", "--histories", "1e12"))
    try:
        terminal.wait_for("starting")
        terminal.process.send_signal(signal.SIGINT)
        assert 130 == terminal.ended()
    finally:
        terminal.close()


@pytest.mark.skipif(importlib.util.find_spec("numba_cuda") is not None, reason="numba-cuda is installed")
def test_without_its_package_a_card_is_refused_in_one_line(scene: Path) -> None:
    done = vivray("run", scene, "--device", "gpu")
    assert (2, "") == (done.returncode, done.stdout)
    assert "Invalid value for --device gpu: the package numba-cuda is not installed" in done.stderr
    assert "pip install 'vivray[gpu]'" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "last"), [("run", OF_RUN), ("fixture", OF_FIXTURE)], ids=["all of a run", "those of a fixture"]
)
def test_a_first_run_compiles_each_kernel_once_and_says_so(
    name: str, last: tuple[str, ...], scene: Path, tmp_path: Path
) -> None:
    there = os.environ | {"VIVRAY_CACHE": str(tmp_path / "cache")}
    words = command(name, scene, "--histories", HISTORIES, "--json")

    def ran(times_told: int) -> object:
        done = subprocess.run(words, cwd=ROOT, env=there, capture_output=True, text=True, check=True)
        assert times_told == done.stderr.count(COMPILING)
        told: dict[str, object] = json.loads(done.stdout)
        return told.get("zones", told.get("fixtures"))

    def kernels() -> list[str]:
        return sorted(path.name.split("-")[0] for path in tmp_path.rglob("*.nbc"))

    first, before = ran(1), kernels()
    # Nothing is left to be compiled for the next, and nothing was that it will not need.
    assert {*last, "gather_direct"} == {kernel.split(".")[1] for kernel in before} & {*KERNELS}
    # A kernel that was compiled for other types than a run needs would be there twice.
    assert sorted(set(before)) == before
    assert first == ran(0)
    assert before == kernels()
