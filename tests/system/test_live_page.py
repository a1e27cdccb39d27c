"""``vivray view --page`` in a browser: a lamp's slider moves the numbers, and nothing leaves the machine."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from sim.analysis.selection import Selection
from sim.tally.result import Result
from tests.support.browser import needs_chromium, opened
from tests.support.synthetic_result import TUBE, make_result, terrarium_patches, tube_field
from viewer.gl import NoGLError, require_gl

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytest.importorskip("trame")
pytest.importorskip("trame_vtk")
pytestmark = [pytest.mark.viewer, pytest.mark.browser, needs_chromium]

ROOT = Path(__file__).resolve().parents[2]
LAMPS = (("tube", TUBE, 0.75), ("coil", TUBE, 0.25))


@pytest.fixture(scope="module")
def result() -> Result:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    return make_result(terrarium_patches(), tube_field(0.8), replicates=16, lamps=LAMPS)


@contextmanager
def served(result: Result, folder: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Serve a result; yield the program and the address that it tells."""
    path = folder / "result.npz"
    result.save(path)
    command = [sys.executable, "-m", "sim", "view", str(path), "--page"]
    environment = {key: value for key, value in os.environ.items() if key != "DISPLAY"}
    # A session of its own: Ctrl-C on a keyboard reaches all that a command has started.
    with subprocess.Popen(
        command,
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as program:
        try:
            assert program.stdout is not None
            line = program.stdout.readline()
            told = r"open (http://127\.0\.0\.1:\d+/) in a browser on this machine; end with Ctrl-C\n"
            found = re.fullmatch(told, line)
            assert found, line
            yield program, found[1]
        finally:
            if program.poll() is None:
                os.killpg(program.pid, signal.SIGKILL)


def test_a_lamp_moves_the_numbers_and_nothing_leaves_the_machine(result: Result, tmp_path: Path) -> None:
    with served(result, tmp_path) as (program, address):
        with opened(address, (address, address.replace("http", "ws"), "data:", f"blob:{address}")) as found:
            page = found.page
            page.wait_for_selector("#lamp_0")
            assert ["Synthetic box"] == page.locator("h1").all_inner_texts()
            assert 1 == page.locator("main").count()
            box = page.locator(".stage").bounding_box()
            assert box is not None

            def pointed() -> bool:
                # A hair's breadth to and fro, until the page listens.
                for shift in (0, 1):
                    page.mouse.move(box["x"] + 0.3 * box["width"] + shift, box["y"] + 0.35 * box["height"])
                return "±" in page.inner_text("#readout b")

            eventually(page, pointed)
            before = numbers(page.inner_text("#readout b"))
            zone = numbers(page.inner_text("#zones td.number >> nth=0"))
            slider = page.locator("#lamp_0")
            slider.focus()
            for _ in range(60):
                slider.press("ArrowLeft")
            # 40 % of three quarters of the light, and the other quarter whole.
            expected = pytest.approx(0.55 * before[0], abs=0.02 * before[0] + 0.01)
            eventually(page, lambda: numbers(page.inner_text("#readout b"))[0] == expected)
            dimmed = Selection(result, levels=(0.4, 1.0)).told.zones[0]
            mean = pytest.approx(float(dimmed.uvi.mean), rel=0.01)
            eventually(page, lambda: numbers(page.inner_text("#zones td.number >> nth=0"))[0] == mean)
            assert zone[0] > dimmed.uvi.mean
            page.select_option("#quantity", "uvb-320")
            page.wait_for_function("() => document.getElementById('bar-title').textContent.includes('W/m²')")
            eventually(page, lambda: "W/m²" in page.inner_text("#readout b"))
            assert ([], []) == (found.outside, found.errors)
        os.killpg(program.pid, signal.SIGINT)
        assert 130 == program.wait(timeout=30)
        assert program.stderr is not None
        assert "Traceback" not in program.stderr.read()


def eventually(page: "Page", met: Callable[[], bool], patience_s: float = 30.0) -> None:
    """Wait for what a page is to come to; it is asked ten times a second."""
    for _ in range(round(10 * patience_s)):
        if met():
            return
        page.wait_for_timeout(100)
    raise AssertionError("the page did not come to it")


def numbers(text: str) -> list[float]:
    return [float(word) for word in re.findall(r"\d+\.?\d*", text.replace("²", ""))]


def test_the_map_takes_the_colours_of_the_new_numbers(result: Result) -> None:
    from viewer.live_page import LivePage
    from viewer.stage import Look

    page = LivePage(Selection(result), Look())
    try:
        before = np.array(page.mesh.cell_data["shown"])
        page.live.change(levels=(0.0, 1.0))
        page.recolour()
        np.testing.assert_allclose(page.mesh.cell_data["shown"], 0.25 * before, rtol=1e-4)
        page.live.change(part="error")
        page.recolour()
        scale = page.plotter.renderer.actors["maps"].mapper.scalar_range
        assert (0.0, page.live.scale.ticks.top) == scale
        assert page.bar()["title"].endswith("standard error")
    finally:
        page.plotter.close()
