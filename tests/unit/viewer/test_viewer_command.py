"""``python -m viewer``, and the commands of ``vivray`` that start it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.synthetic_result import terrarium

ROOT = Path(__file__).resolve().parents[3]
HIDDEN = ("libEGL.so.1", "libEGL.so", "libGL.so.1", "libGLX.so.0", "libOSMesa.so.8", "libX11.so.6")
COMMANDS = [["viewer", "picture"], ["sim", "picture"]]

SCENE = str(ROOT / "scenes" / "free-tube.toml")

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
    code, told, lines = called(module, saved, "--out", out, **no_gl)
    assert (2, "", 1) == (code, told, len(lines))
    assert "libegl1 and libgl1-mesa-dri" in lines[0]
    assert not out.exists()


@pytest.mark.viewer
@pytest.mark.parametrize("module", COMMANDS)
def test_a_picture_without_a_display(saved: Path, tmp_path: Path, module: list[str]) -> None:
    out = tmp_path / "out.png"
    options = ("--camera", "front", "--size", "640x480", "--level", "tube=50%", "--cut", "y=30 cm")
    assert (0, f"{out}\n", []) == called(module, saved, "--out", out, *options)
    assert out.read_bytes().startswith(b"\x89PNG")


@pytest.mark.viewer
def test_a_file_that_is_there_is_replaced_only_when_asked_to(saved: Path, tmp_path: Path) -> None:
    out = tmp_path / "mine.png"
    out.write_text("mine")
    words = (["sim", "picture"], saved, "--out", out, "--size", "640x480")
    expected = f"{out} is there already; name another file, or give --force to replace it"
    assert (2, "", [expected]) == called(*words)
    assert out.read_text() == "mine"
    assert (0, f"{out}\n", []) == called(*words, "--force")
    assert out.read_bytes().startswith(b"\x89PNG")


@pytest.mark.viewer
@pytest.mark.parametrize("display", ["", ":97"])
def test_without_a_display_a_window_cannot_open(saved: Path, display: str) -> None:
    code, told, lines = called(["sim", "view"], saved, DISPLAY=display)
    assert (2, "") == (code, told)
    expected = "no display here to open a window on; make a picture instead: vivray picture RESULT --out FILE.png"
    assert [expected] == lines


def last_line(module: list[str], saved: Path, arguments: list[str]) -> str:
    words = [str(saved) if word == "RESULT" else word for word in arguments]
    code, out, lines = called(module, *words)
    assert (2, "") == (code, out)
    return lines[-1]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["gone.npz", "--out", "out.png"], "gone.npz: no such file"),
        (["RESULT", "--out", "out.jpg"], "out.jpg does not end in .png"),
        (["RESULT", "--out", "out.gif"], "out.gif does not end in .png"),
        (["RESULT", "--out", "out.jpg", "--turn", "8"], "out.jpg does not end in .png or .gif"),
        (["RESULT", "--out", "out.png", "--quantity", "brightness"], "'brightness' is not one of 'uvi'"),
        (["RESULT", "--out", "out.png", "--camera", "inside"], "'inside' is not one of corner, front, back"),
        (["RESULT", "--out", "out.png", "--camera", "gone.json"], "gone.json: No such file or directory; name"),
        (
            ["RESULT", "--out", "out.png", "--size", "large"],
            "'large' is not a size in pixels; write one such as 1200x800",
        ),
        (["RESULT", "--out", "out.png", "--level", "tube"], "'tube' is not a lamp with its level; write one such as"),
        (["RESULT", "--out", "out.png", "--level", "tube=-5%"], "'tube=-5%' is not a lamp with its level"),
        (
            ["RESULT", "--out", "out.png", "--level", "tube=60"],
            "'tube=60' is 60 times its light; if you mean that, write",
        ),
        (["RESULT", "--out", "out.png", "--lamp", "bulb"], "no lamp called 'bulb' in this result; there are: tube"),
        (["RESULT", "--out", "out.png", "--cut", "w=3 cm"], "'w=3 cm' is no plane across an axis; write one such as"),
        (["RESULT", "--out", "out.png", "--cut", "y=3"], "length needs a unit: write '3 cm'"),
        (["RESULT"], "Missing option '--out'"),
        (["RESULT", "--out", "out.png", "--photons", "3"], "--photons and --scene go together"),
        (["RESULT", "--out", "out.png", "--scene", "box.toml"], "--photons and --scene go together"),
        (["RESULT", "--out", "out.png", "--photons", "3", "--scene", "gone.toml"], "gone.toml: no such file"),
        (
            ["RESULT", "--out", "out.png", "--photons", "3", "--scene", SCENE],
            "not the scene that this result was traced",
        ),
    ],
)
def test_bad_input_ends_in_one_line_that_says_what_is_wrong(saved: Path, arguments: list[str], told: str) -> None:
    assert told in last_line(["sim", "picture"], saved, arguments)


def test_a_command_that_the_viewer_does_not_have() -> None:
    code, out, lines = called(["viewer"], "fly")
    assert (2, "", 1) == (code, out, len(lines))
    assert "'fly' is no command of the viewer; there are: picture, view" in lines[0]
