"""``vivray report`` through the command line: pictures or a word why not, units, PDF."""

import base64
import io
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from sim.cli import vivray
from sim.report import pdf
from tests.support.browser import CHROMIUM
from tests.support.synthetic_result import terrarium
from viewer.gl import NoGLError, require_gl

pytestmark = pytest.mark.system

ROOT = Path(__file__).resolve().parents[2]
SCENE = """
title = "A small box"
[enclosure]
size = ["40 cm", "30 cm", "30 cm"]
walls = { all = "melamine-white" }
[[lamps]]
name = "tube"
kind = "tube"
from = ["10 cm", "15 cm", "28 cm"]
to = ["30 cm", "15 cm", "28 cm"]
radius = "8 mm"
spectrum = "uvb-phosphor-306"
output = { radiant = "0.2 W" }
"""


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("stored") / "result.npz"
    terrarium().save(path)
    return path


def vivray_without_gl(folder: Path, way: str, *words: str) -> "subprocess.CompletedProcess[str]":
    """Run the program in a child process without a display that finds no driver of the system, or no VTK at all."""
    there = {key: value for key, value in os.environ.items() if key not in ("DISPLAY", "VIVRAY_NO_PICTURES")}
    nothing, broken = folder / "nothing", folder / "broken"
    nothing.mkdir(exist_ok=True)
    (broken / "vtkmodules").mkdir(parents=True, exist_ok=True)
    (broken / "vtkmodules" / "__init__.py").write_text("raise ImportError('hidden')", encoding="utf-8")
    if way == "no driver":
        there |= {
            "__EGL_VENDOR_LIBRARY_DIRS": str(nothing),
            "LIBGL_DRIVERS_PATH": str(nothing),
            "PYTHONPATH": str(ROOT),
        }
    else:
        there |= {"PYTHONPATH": os.pathsep.join([str(broken), str(ROOT)])}
    command = [sys.executable, "-m", "sim", *words]
    return subprocess.run(command, env=there, cwd=folder, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("way", ["no driver", "no package"])
def test_without_gl_a_run_and_a_report_are_whole_and_say_what_is_left_out(way: str, tmp_path: Path) -> None:
    (tmp_path / "box.toml").write_text(SCENE, encoding="utf-8")
    ran = vivray_without_gl(tmp_path, way, "run", "box.toml", "--out", "out", "--histories", "64000", "--quiet")
    assert 0 == ran.returncode, ran.stderr
    line = "Pictures in three dimensions are left out: nothing here can draw: no OpenGL driver was found; install"
    assert 1 == ran.stderr.count(line)
    again = vivray_without_gl(tmp_path, way, "report", "out/result.npz", "--out", "again")
    assert (0, 1) == (again.returncode, again.stderr.count(line))
    for page in (tmp_path / name / "report.html" for name in ("out", "again")):
        text = page.read_text(encoding="utf-8")
        assert 1 == text.count(line)
        assert ("<img" not in text, True) == (True, "Where this comes from" in text)


@pytest.mark.viewer
def test_pictures_stand_in_the_page(stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    monkeypatch.delenv("VIVRAY_NO_PICTURES")
    told = CliRunner().invoke(vivray, ["report", str(stored), "--out", str(tmp_path), "--units", "inch"])
    assert (0, "") == (told.exit_code, told.stderr)
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    images = re.findall(r'<img src="data:image/png;base64,([^"]+)" alt="([^"]+)"', text)
    assert 2 == len(images)
    for data, words in images:
        pixels = np.asarray(Image.open(io.BytesIO(base64.b64decode(data))).convert("RGB"))
        assert (900, 1400, 3) == pixels.shape
        assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 60
        assert "UV index in colours" in words
    assert 2 == text.count("Lengths in the picture are in centimetres.")


def test_a_report_in_inches(stored: Path, tmp_path: Path) -> None:
    told = CliRunner().invoke(vivray, ["report", str(stored), "--out", str(tmp_path), "--units", "inch"])
    assert told.exit_code == 0
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert ("x, in", 0) == (re.findall("x, (?:in|cm)", text)[0], text.count("x, cm"))
    # Files of numbers know no inches.
    assert "_in" not in (tmp_path / "receivers.csv").read_text(encoding="utf-8").splitlines()[0]


class TestPdf:
    def made(self, stored: Path, out: Path) -> bytes:
        told = CliRunner().invoke(vivray, ["report", str(stored), "--out", str(out), "--pdf", str(out / "report.pdf")])
        assert 0 == told.exit_code, told.output
        return (out / "report.pdf").read_bytes()

    def test_by_weasyprint(self, stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        try:
            import weasyprint  # noqa: F401  # whether it can be used here
        except (ImportError, OSError) as error:
            pytest.skip(f"no weasyprint here: {error}")
        monkeypatch.setattr(pdf, "BROWSERS", ())
        assert b"%PDF-" == self.made(stored, tmp_path)[:5]

    @pytest.mark.browser
    @pytest.mark.skipif(not CHROMIUM, reason="no Chromium is installed")
    def test_by_a_browser(self, stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(pdf, "find_spec", lambda name: None)
        assert b"%PDF-" == self.made(stored, tmp_path / "a folder that it makes")[:5]

    def test_a_place_that_cannot_be_is_named(
        self, stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("sim.report.pdf.pdf_of", lambda page: b"%PDF-")
        place = tmp_path / "missing" / "report.pdf"
        told = CliRunner().invoke(vivray, ["report", str(stored), "--out", str(tmp_path), "--pdf", str(place)])
        assert (2, f"{place}: No such file or directory; name a place that can be written\n") == (
            told.exit_code,
            told.stderr,
        )

    def test_neither_is_said_plainly(self, stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(pdf, "find_spec", lambda name: None)
        monkeypatch.setattr(pdf, "BROWSERS", ())
        words = ["report", str(stored), "--out", str(tmp_path), "--pdf", str(tmp_path / "report.pdf")]
        told = CliRunner().invoke(vivray, words)
        assert (2, 1) == (told.exit_code, len(told.stderr.splitlines()))
        assert "nothing here makes a PDF; install the package with pip install 'vivray[pdf]'" in told.stderr
        assert [] == list(tmp_path.iterdir())

    def test_a_file_that_is_there_stays(self, stored: Path, tmp_path: Path) -> None:
        (tmp_path / "report.pdf").write_text("mine", encoding="utf-8")
        words = ["report", str(stored), "--out", str(tmp_path), "--pdf", str(tmp_path / "report.pdf")]
        assert 2 == CliRunner().invoke(vivray, words).exit_code
        assert "mine" == (tmp_path / "report.pdf").read_text(encoding="utf-8")
