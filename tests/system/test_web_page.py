"""The page of a result in a browser: whole in one file, drawn in the right colours, and quick to follow a lamp."""

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

import matplotlib as mpl
import numpy as np
import pytest
from PIL import Image

from sim.analysis.selection import Selection
from sim.tally.result import FloatArray, Result
from sim.tally.statistics import t_factor
from tests.support.browser import file_address, needs_chromium, opened
from tests.support.synthetic_result import TUBE, make_result, terrarium_patches, tube_field
from viewer.gl import NoGLError, require_gl

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytest.importorskip("trame_vtk")
pytestmark = [pytest.mark.viewer, pytest.mark.browser, needs_chromium]

LAMPS = (("tube", TUBE, 0.75), ("coil", TUBE, 0.25))
DRAWN = "() => window.global?.renderWindow?.getRenderers().some((one) => one.getActors().length > 2)"
POINTED = "() => document.getElementById('readout').querySelector('b')?.textContent"


@pytest.fixture(scope="module")
def result() -> Result:
    return make_result(terrarium_patches(), tube_field(0.8), replicates=16, lamps=LAMPS)


@pytest.fixture(scope="module")
def saved(result: Result, tmp_path_factory: pytest.TempPathFactory) -> Path:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    from viewer.web import web_page

    path = tmp_path_factory.mktemp("page") / "result.html"
    path.write_text(web_page(Selection(result)), encoding="utf-8")
    return path


def test_names_of_other_hosts_stand_in_comments_and_name_spaces_alone(saved: Path) -> None:
    text = saved.read_text(encoding="utf-8")
    assert [] == re.findall(r"""(?:src|href)\s*=\s*["']?https?:""", text)


def shot(page: "Page") -> FloatArray:
    """Return the window as pixels, rows from above, 0 … 1."""
    return np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"), dtype=np.float64) / 255.0


def wait_for_colours(page: "Page") -> FloatArray:
    page.wait_for_function(DRAWN)
    for _ in range(60):
        image = shot(page)
        if len(np.unique((255 * image[100:, :800]).astype(int).reshape(-1, 3), axis=0)) > 60:
            return image
        page.wait_for_timeout(250)
    raise AssertionError("the model was not drawn")


def where(page: "Page", point: FloatArray) -> tuple[float, float]:
    """Return where a point [m] is seen in the window [px], by the page's camera."""
    camera = page.evaluate(
        "() => { const seen = window.global.renderWindow.getRenderers().find((one) => one.getActors().length),"
        " c = seen.getActiveCamera();"
        " return [c.getPosition(), c.getFocalPoint(), c.getViewUp(), [c.getViewAngle()]]; }"
    )
    eye, focus, up, (angle,) = (np.array(part) for part in camera)
    forward = (focus - eye) / np.linalg.norm(focus - eye)
    right = np.cross(forward, up)
    right /= np.linalg.norm(right)
    box = page.locator(".content").bounding_box()
    seen = point - eye
    depth = (seen @ forward) * np.tan(np.radians(angle / 2))
    across = seen @ right / depth * box["height"] / box["width"]
    x = box["x"] + box["width"] * 0.5 * (1 + across)
    return float(x), float(box["y"] + box["height"] * 0.5 * (1 - seen @ np.cross(right, forward) / depth))


def cell_row(result: Result, name: str, near: tuple[float, float, float]) -> int:
    group = result.group("surface", name)
    return group.first + int(np.argmin(np.linalg.norm(result.centre[group.rows] - near, axis=1)))


def test_the_page_opens_from_disk_and_asks_nobody_anything(saved: Path, result: Result) -> None:
    with opened(file_address(saved)) as found:
        page = found.page
        image = wait_for_colours(page)
        assert ["Synthetic box"] == page.locator("h1").all_inner_texts()
        assert (1, 1) == (page.locator("main").count(), page.locator("header").count())
        assert "Synthetic box" == page.title()
        # The colour of a cell is that of the bar, without light and shade.
        row = cell_row(result, "back", (0.2, 0.6, 0.45))
        x, y = where(page, result.centre[row])
        shown = Selection(result)
        from viewer.scale import scale_for

        expected = mpl.colormaps["cividis"](shown.found.mean[row] / scale_for(shown).ticks.top)[:3]
        np.testing.assert_allclose(image[round(y), round(x)], expected, atol=4 / 255)
        assert ([], []) == (found.outside, found.errors)


def test_a_lamp_that_is_dimmed_changes_map_numbers_and_zones(saved: Path, result: Result) -> None:
    row = cell_row(result, "floor", (0.2, 0.25, 0.0))
    with opened(file_address(saved)) as found:
        page = found.page
        before = wait_for_colours(page)
        page.mouse.move(*where(page, result.centre[row]))
        assert told(Selection(result), row) == page.evaluate(POINTED).strip()
        zone = page.inner_text("#zone-0")
        slider = page.locator("#lamp-0")
        slider.focus()
        for _ in range(60):
            slider.press("ArrowLeft")
        assert "40 %" == page.locator("#lamp-0 + span").inner_text()
        dimmed = Selection(result, levels=(0.4, 1.0))
        assert told(dimmed, row) == page.evaluate(POINTED).strip()
        assert zone != page.inner_text("#zone-0")
        assert float(zone.split()[0]) * 0.55 == pytest.approx(float(page.inner_text("#zone-0").split()[0]), rel=0.01)
        after = shot(page)
        x, y = (round(part) for part in where(page, result.centre[cell_row(result, "back", (0.2, 0.6, 0.45))]))
        assert before[y, x].sum() > after[y, x].sum() + 0.05
        assert [] == found.errors


def told(shown: Selection, row: int) -> str:
    """Return value and half width of a receiver as the page writes them, to two figures of the error."""
    from sim.analysis.numbers import with_error

    half = t_factor(shown.found.replicates) * float(shown.found.se[row])
    return with_error(float(shown.found.mean[row]), half)


def test_the_keyboard_turns_the_model_and_never_over(saved: Path) -> None:
    direction = "() => window.global.renderWindow.getRenderers().find((one) => one.getActors().length)"
    direction += ".getActiveCamera().getDirectionOfProjection()"
    with opened(file_address(saved)) as found:
        wait_for_colours(found.page)
        found.page.keyboard.press("Tab")
        before = np.array(found.page.evaluate(direction))
        found.page.keyboard.press("ArrowRight")
        turned = np.array(found.page.evaluate(direction))
        assert np.cos(np.deg2rad(10.0)) == pytest.approx(
            np.dot(before[:2], turned[:2]) / np.dot(before[:2], before[:2])
        )
        for key, sign in (("ArrowUp", -1.0), ("ArrowDown", 1.0)):
            for _ in range(25):
                found.page.keyboard.press(key)
            assert 0.9 < sign * found.page.evaluate(direction)[2] <= 0.99
        assert [] == found.errors


def test_a_wall_in_front_is_looked_through_and_a_body_is_named(saved: Path, result: Result) -> None:
    with opened(file_address(saved)) as found:
        page = found.page
        wait_for_colours(page)
        # Seen through the front wall, which is not drawn from outside.
        page.mouse.move(*where(page, np.array([0.31, 0.6, 0.31])))
        assert page.inner_text("#readout").splitlines()[1].startswith("back, x 31.")
        page.mouse.move(*where(page, np.array([0.7, 0.3, 0.55])))
        assert "tube" in page.inner_text("#readout")
