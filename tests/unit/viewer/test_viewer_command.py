"""``python -m viewer`` and ``vivray view``, which starts it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.synthetic_result import terrarium

ROOT = Path(__file__).resolve().parents[3]
HIDDEN = ("libEGL.so.1", "libEGL.so", "libGL.so.1", "libGLX.so.0", "libOSMesa.so.8", "libX11.so.6")
COMMANDS = [["viewer"], ["sim", "view"]]

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="displays have names on Linux alone")


def called(module: list[str], *arguments: object, **changes: str) -> tuple[int, str, list[str]]:
    """Run a module without a display; return exit code, stdout and the lines of stderr."""
    environment = {key: value for key, value in os.environ.items() if key != "DISPLAY"} | changes
    command = [sys.executable, "-m", *module, *map(str, arguments)]
    child = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    return child.returncode, child.stdout, child.stderr.splitlines()


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("result") / "result.npz"
    terrarium(replicates=4).save(path)
    return path


@pytest.fixture
def no_gl(tmp_path: Path) -> dict[str, str]:
    """Hide the libraries of GL behind files of their names that are none."""
    folder = tmp_path / "hidden"
    folder.mkdir()
    for name in HIDDEN:
        (folder / name).write_text("no library")
    return {"LD_LIBRARY_PATH": str(folder)}


@pytest.mark.parametrize("module", COMMANDS)
def test_without_gl_one_line_says_what_to_install(
    saved: Path, tmp_path: Path, no_gl: dict[str, str], module: list[str]
) -> None:
    out = tmp_path / "out.png"
    code, told, lines = called(module, saved, "--picture", out, **no_gl)
    assert (2, "", 1) == (code, told, len(lines))
    assert "libegl1 and libgl1-mesa-dri" in lines[0]
    assert not out.exists()


@pytest.mark.viewer
@pytest.mark.parametrize("module", COMMANDS)
def test_a_picture_without_a_display(saved: Path, tmp_path: Path, module: list[str]) -> None:
    out = tmp_path / "out.png"
    assert (0, f"{out}\n", []) == called(module, saved, "--picture", out, "--camera", "front", "--size", "640x480")
    assert out.read_bytes().startswith(b"\x89PNG")


@pytest.mark.viewer
@pytest.mark.parametrize("display", ["", ":97"])
def test_without_a_display_a_window_cannot_open(saved: Path, display: str) -> None:
    code, told, lines = called(["sim", "view"], saved, DISPLAY=display)
    assert (2, "") == (code, told)
    assert ["no display here to open a window on; make a picture instead: --picture FILE.png"] == lines


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["gone.npz"], "gone.npz: no such file"),
        (["RESULT", "--picture", "out.jpg"], "out.jpg does not end in .png"),
        (["RESULT", "--quantity", "brightness"], "'brightness' is not one of 'uvi'"),
        (["RESULT", "--camera", "below"], "'below' is not one of 'corner', 'front', 'top'"),
        (["RESULT", "--size", "large"], "'large' is not a size in pixels; write one such as 1200x800"),
    ],
)
def test_bad_input_is_one_line(saved: Path, arguments: list[str], told: str) -> None:
    code, out, lines = called(["sim", "view"], *(str(saved) if word == "RESULT" else word for word in arguments))
    assert (2, "", 1) == (code, out, len(lines))
    assert told in lines[0]
