"""The window, drawn off the screen; and once on a display that nobody sees."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from sim.analysis.selection import Selection
from sim.tally.result import Result
from tests.support.synthetic_result import TUBE, Patch, make_result, terrarium_patches, tube_field, uniform
from viewer.cameras import read_camera
from viewer.gl import NoGLError, require_gl

pytestmark = pytest.mark.viewer

ROOT = Path(__file__).resolve().parents[3]
LAMPS = (("tube", TUBE, 0.75), ("coil", TUBE, 0.25))


@pytest.fixture(scope="module", autouse=True)
def gl() -> None:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))


@pytest.fixture(scope="module")
def result() -> Result:
    return make_result(terrarium_patches(), tube_field(0.8), replicates=16, lamps=LAMPS)


def test_a_lamp_that_is_dimmed_changes_map_zones_and_reading(result: Result, tmp_path: Path) -> None:
    from viewer.stage import Look
    from viewer.window import Window

    window = Window(Selection(result), Look(), (1000, 700), tmp_path, off_screen=True)
    try:
        before = np.array(window.mesh.cell_data["shown"])
        bright = np.asarray(window.plotter.screenshot(return_img=True), dtype=int)
        window.point(300, 400)
        reading, zone = window._reading.GetInput(), window.zone_labels[0].GetInput()
        assert "±" in reading
        window.dim(0, 0.0)
        np.testing.assert_allclose(window.mesh.cell_data["shown"], 0.25 * before, rtol=1e-4)
        assert 0.25 * float(reading.split()[0]) == pytest.approx(float(window._reading.GetInput().split()[0]), rel=0.05)
        assert zone != window.zone_labels[0].GetInput()
        dark = np.asarray(window.plotter.screenshot(return_img=True), dtype=int)
        assert dark[100:500, 100:700].sum() < bright[100:500, 100:700].sum()
        assert [0.0, 100.0] == [slider.GetRepresentation().GetValue() for slider in window.sliders]
    finally:
        window.plotter.close()


def test_other_quantities_and_errors_by_key(result: Result, tmp_path: Path) -> None:
    from viewer.stage import Look
    from viewer.window import Window

    window = Window(Selection(result), Look(), (900, 640), tmp_path, off_screen=True)
    try:
        window.next_quantity()
        assert "erythema" == window.live.quantity
        window.other_part()
        shown = Selection(result, "erythema", None, "error")
        assert window.mesh.cell_data["shown"].max() <= shown.numbers.max() * (1 + 1e-6)
        window.other_part()
        assert "value" == window.live.part
    finally:
        window.plotter.close()


def test_a_kept_camera_sees_the_same_again(result: Result, tmp_path: Path) -> None:
    from viewer.stage import Look
    from viewer.window import Window

    window = Window(Selection(result), Look("left"), (900, 640), tmp_path, off_screen=True)
    try:
        (tmp_path / "camera-1.json").write_text("mine")
        path = window.keep_camera()
        assert ("camera-2.json", "mine") == (path.name, (tmp_path / "camera-1.json").read_text())
        kept, now = read_camera(path), window.camera
        np.testing.assert_allclose(kept.eye, now.eye, atol=1e-9)
        np.testing.assert_allclose(kept.forward, now.forward, atol=1e-9)
    finally:
        window.plotter.close()


def test_nothing_mapped_is_one_line(tmp_path: Path) -> None:
    from viewer.stage import Look
    from viewer.window import Window

    point = Patch("sensor", "meter", (0.6, 0.3, 0.1), (0, 0, 0), (0, 0, 0), (0, 0), {"kind": "point"})
    with pytest.raises(ValueError, match="no surface of this result is mapped"):
        Window(Selection(make_result([point], uniform(1.0))), Look(), (900, 640), tmp_path, off_screen=True)


# Opens the window as a user does, then plays the pointer and two keys.
PLAYED = """
import functools, json, sys
from pathlib import Path
from sim.analysis.selection import Selection
from sim.tally.result import load_result
from viewer.stage import Look
from viewer.window import Window
window = Window(Selection(load_result(Path(sys.argv[1]))), Look(), (900, 640), Path(sys.argv[2]))
window.plotter.show = functools.partial(window.plotter.show, auto_close=False, interactive_update=True)
window.show()
events = window.plotter.iren.interactor
events.SetEventInformation(300, 380, 0, 0, "m", 0, "m")
events.InvokeEvent("MouseMoveEvent")
told = [window._reading.GetInput()]
for key in "nk":
    events.SetEventInformation(300, 380, 0, 0, key, 0, key)
    events.InvokeEvent("KeyPressEvent")
    told.append(window._reading.GetInput())
print(json.dumps([told, window.live.quantity, type(window.plotter.render_window).__name__]))
window.plotter.close()
"""


@pytest.mark.skipif(shutil.which("xvfb-run") is None, reason="no virtual display (xvfb-run) is installed")
def test_on_a_display_pointer_and_keys_do_their_work(result: Result, tmp_path: Path) -> None:
    result.save(tmp_path / "result.npz")
    command = ["xvfb-run", "-a", "-s", "-screen 0 1200x900x24", sys.executable, "-c", PLAYED]
    words = [str(tmp_path / "result.npz"), str(tmp_path)]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    environment.pop("VTK_DEFAULT_OPENGL_WINDOW", None)
    child = subprocess.run(
        [*command, *words], cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=120
    )
    assert 0 == child.returncode, child.stderr
    told, quantity, kind = json.loads(child.stdout.splitlines()[-1])
    assert "vtkXOpenGLRenderWindow" == kind
    assert ("erythema", True) == (quantity, "±" in told[0])
    assert "W/m²" in told[1]
    assert told[2].startswith("camera kept in")
    assert (tmp_path / "camera-1.json").exists()
