import errno
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sim.cli import COMMANDS, vivray
from sim.commands.export import KINDS
from tests.support.scene_text import VIVARIUM


def run(*arguments: str) -> Result:
    return CliRunner().invoke(vivray, list(arguments))


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "scene.toml"
    path.write_text(VIVARIUM)
    return path


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_a_page_of_help(name: str) -> None:
    result = run(name, "--help")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith(f"Usage: vivray {name}")


def test_kinds_of_export_stand_on_lines_of_their_own() -> None:
    lines = [line.split()[0] for line in run("export", "--help").output.splitlines() if line.strip()]
    assert set(KINDS) <= set(lines)


def test_help_lists_every_command() -> None:
    result = run("--help")
    assert result.exit_code == 0
    assert all(f"\n  {name}" in result.stdout for name in COMMANDS)


def test_an_unknown_command_is_bad_input() -> None:
    assert run("chekc").exit_code == 2


def test_check_without_a_scene_is_bad_input() -> None:
    result = run("check")
    assert result.exit_code == 2
    assert "give at least one scene file, or --schema" in result.stderr


@pytest.mark.parametrize(
    "words", [("run", "scene.toml", "--error", "0"), ("run",), ("run", "scene.toml", "--eror", "1"), ("chekc",)]
)
def test_a_mistake_on_the_command_line_is_told_in_one_line(words: tuple[str, ...]) -> None:
    result = run(*words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith("Error: ")
    assert result.stderr.count("\n") == 1


def test_check_prints_the_schema_alone() -> None:
    result = run("check", "--schema")
    assert (result.exit_code, result.stderr) == (0, "")
    assert json.loads(result.stdout)["title"] == "vivray scene"


def test_a_warning_leaves_the_scene_right(scene: Path) -> None:
    scene.write_text(VIVARIUM + '\n[laws.spare]\nkind = "black"\n')
    result = run("check", str(scene))
    assert result.exit_code == 0
    line = VIVARIUM.count("\n") + 2
    assert result.stderr == (f"{scene}:{line}: warning: laws.spare: no surface has this law; use it, or leave it out\n")
    assert result.stdout.startswith(f"{scene}: ok — ")


def test_one_bad_scene_does_not_hide_the_others(scene: Path, tmp_path: Path) -> None:
    result = run("check", str(tmp_path / "gone.toml"), str(scene))
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert result.stdout.startswith(f"{scene}: ok — ")


def test_faults_end_any_command_in_lines_and_code_2(scene: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from sim.scene.fault import SceneError

    def fail(path: Path) -> bool:
        raise SceneError(["one", "two"])

    monkeypatch.setattr("sim.commands.check._passes", fail)
    result = run("check", str(scene))
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", "one\ntwo\n")


def test_an_interrupt_ends_in_code_130(scene: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(path: Path) -> bool:
        raise KeyboardInterrupt

    monkeypatch.setattr("sim.commands.check._passes", interrupt)
    result = run("check", str(scene))
    assert (result.exit_code, result.stderr) == (130, "interrupted\n")


def test_a_missing_option_is_told_in_one_line_with_its_choices() -> None:
    result = run("export", "result.npz")
    assert (2, "") == (result.exit_code, result.stdout)
    assert result.stderr == "Error: Missing option '--to'. Choose from: vtp, vtm, glb, html, csv, json\n"


def test_a_full_disk_is_told_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, content: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    plot = tmp_path / "sand.svg"
    result = run("describe", "sand-dry", "--plot", str(plot))
    told = f"{plot}: No space left on device; make room there, or name another place\n"
    assert (result.exit_code, result.stderr) == (2, told)
    assert not plot.exists()
