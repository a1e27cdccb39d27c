"""Report and sheet in a browser: what axe-core finds, what they ask of others, whether they fit a narrow window."""

import io
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from sim.analysis.coverage import answer
from sim.cli import vivray
from sim.report.lengths import INCHES
from sim.report.page import report_page
from sim.report.pictures import Picture, Pictures
from tests.support.accessibility import axe_findings
from tests.support.browser import file_address, needs_chromium, opened
from tests.support.sectioned_result import sectioned

SCENE = Path(__file__).resolve().parents[2] / "scenes" / "tube-reflectors.toml"
pytestmark = [pytest.mark.browser, pytest.mark.system, needs_chromium]


def small_picture() -> Picture:
    buffer = io.BytesIO()
    Image.new("RGB", (28, 18), "#123456").save(buffer, format="PNG")
    return Picture("corner", buffer.getvalue(), "The enclosure from a corner.", "Seen from a corner.")


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "report.html"
    pictures = Pictures((small_picture(),), "Another is left out.")
    page = report_page(answer(sectioned(9.0)), "2026-01-05", 12.0, ["A guess."], unit=INCHES, pictures=lambda: pictures)
    path.write_text(page, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("sheet")
    words = ["fixture", str(SCENE), "--lamp", "bare", "--lamp", "trough", "--histories", "64000", "--out", str(out)]
    assert 0 == CliRunner().invoke(vivray, [*words, "--quiet"]).exit_code
    return out / "fixtures.html"


@pytest.fixture(scope="module", params=["report", "sheet"])
def page(request: pytest.FixtureRequest) -> Path:
    found = request.getfixturevalue(request.param)
    assert isinstance(found, Path)
    return found


@pytest.mark.parametrize("width", [1100, 400])
def test_axe_finds_nothing_and_nobody_is_asked(page: Path, width: int) -> None:
    with opened(file_address(page)) as found:
        found.page.set_viewport_size({"width": width, "height": 900})
        violations, passed = axe_findings(found.page)
        assert [] == violations
        assert passed > 15
        assert ([], []) == (found.outside, found.errors)
        # Wide tables and drawings scroll in their own frames; the page itself does not.
        assert width == found.page.evaluate("document.documentElement.scrollWidth")


def test_axe_sees_a_fault(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text("<title>x</title><img src='data:image/gif;base64,R0lGODlhAQABAAAAACw='>", encoding="utf-8")
    with opened(file_address(path)) as found:
        assert any(line.startswith("image-alt") for line in axe_findings(found.page)[0])


def test_no_figure_or_row_is_parted_in_print(page: Path) -> None:
    with opened(file_address(page)) as found:
        found.page.emulate_media(media="print")
        script = (
            "() => [...document.querySelectorAll('figure, tr, h2')].map((one) => getComputedStyle(one))"
            ".map((style) => [style.breakInside, style.breakAfter])"
        )
        kept = found.page.evaluate(script)
        assert len(kept) > 20
        assert {("avoid", "auto"), ("auto", "avoid")} >= {tuple(pair) for pair in kept}
