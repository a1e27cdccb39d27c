"""``vivray compare``: one scale, a difference that hides what is below its error, with and without GL."""

import json
import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.image import AxesImage

from sim.analysis.comparison import Comparison, beyond_error
from sim.analysis.selection import Selection
from sim.report.comparison_figure import comparison_figure
from tests.support.synthetic_result import make_result, terrarium_patches, tube_field
from viewer.gl import NoGLError, require_gl

ROOT = Path(__file__).resolve().parents[2]
FIRST = make_result(terrarium_patches(), tube_field(0.8), replicates=16, noise=0.05)
SECOND = make_result(terrarium_patches(), tube_field(0.86), replicates=16, noise=0.05, seed=2)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, result in (("sand", FIRST), ("slate", SECOND)):
        (tmp_path / name).mkdir()
        result.save(tmp_path / name / "result.npz")
    return tmp_path


def compare(folder: Path, *options: object) -> tuple[int, str, list[str]]:
    words = [folder / "sand" / "result.npz", folder / "slate" / "result.npz", *options]
    command = [sys.executable, "-m", "sim", "compare", *map(str, words)]
    child = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return child.returncode, child.stdout, child.stderr.splitlines()


def test_the_table_names_both_and_tells_what_differs(folder: Path) -> None:
    code, out, errors = compare(folder)
    assert (0, []) == (code, errors)
    rows = {line[:14].strip(): line for line in out.splitlines()}
    assert "sand" in out.splitlines()[1]
    assert "slate" in out.splitlines()[1]
    assert rows["basking"].rstrip().endswith("yes")


def test_the_object_has_every_group_with_errors(folder: Path) -> None:
    code, out, _ = compare(folder, "--json", "--quantity", "uvb-320")
    told = json.loads(out)
    assert (0, "W/m2", "sand", "slate") == (code, told["unit"], told["first"], told["second"])
    row = next(one for one in told["rows"] if (one["kind"], one["name"]) == ("zone", "basking"))
    assert row["difference"] == pytest.approx(row["second"] - row["first"])
    assert row["second"] / row["first"] == pytest.approx(0.86 / 0.8, rel=0.02)
    assert row["beyond_error"] == (abs(row["difference"]) > row["difference_ci95"])


def test_maps_share_a_scale_and_hide_what_is_below_its_error() -> None:
    compared = Comparison(Selection(FIRST), Selection(SECOND))
    figure = comparison_figure(compared, ("sand", "slate"))
    images = [image for axes in figure.axes for image in axes.get_images() if isinstance(image, AxesImage)]
    assert 0 == len(images) % 3
    tops = {image.norm.vmax for k, image in enumerate(images) if k % 3 < 2}
    assert 1 == len(tops)
    assert all(image.norm.vmin == pytest.approx(-image.norm.vmax) for image in images[2::3])
    drawn = sum(np.ma.count(image.get_array()) for image in images[2::3])
    names = {axes.get_title(loc="left") for axes in figure.axes} - {""}
    pairs = [pair for pair in compared.pairs if f"{pair.first.kind} {pair.name}" in names]
    expected = sum(int(beyond_error(compared.difference(pair)).sum()) for pair in pairs)
    assert len(images) // 3 == len(pairs)
    assert 0 < drawn == expected < sum(pair.first.count for pair in pairs)


@pytest.mark.parametrize("name", ["both.png", "both.svg"])
def test_a_flat_picture_needs_no_gl_and_replaces_nothing(folder: Path, name: str) -> None:
    out = folder / name
    assert 0 == compare(folder, "--out", out)[0]
    before = out.read_bytes()
    code, _, errors = compare(folder, "--out", out)
    assert (2, [f"{out} is there already; name another file, or give --force to replace it"]) == (code, errors)
    assert 0 == compare(folder, "--out", out, "--force")[0]
    assert before == out.read_bytes(), "equal results give equal pictures"


@pytest.mark.viewer
def test_models_show_the_difference_in_its_own_colours(folder: Path) -> None:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    from viewer.cameras import camera_for
    from viewer.layers import layers
    from viewer.side_by_side import _MARGINS, SIZE, models
    from viewer.stage import points_of

    compared = Comparison(Selection(FIRST), Selection(SECOND))
    models(compared, ("sand", "slate"), folder / "models.png")
    image = mpl.image.imread(folder / "models.png")[::-1, :, :3]
    assert (SIZE[1], SIZE[0]) == image.shape[:2]
    points = np.concatenate([points_of(layers(shown)) for shown in (compared.first, compared.second)])
    camera = camera_for(points, "corner", SIZE[0] / 3 / SIZE[1], _MARGINS)
    pair = next(one for one in compared.pairs if (one.first.kind, one.name) == ("surface", "floor"))
    found = compared.difference(pair)
    every = [compared.difference(one) for one in compared.pairs if one.first.kind == "surface"]
    reach = max(float(np.abs(one.mean[beyond_error(one)]).max(initial=0.0)) for one in every)
    # A cell of the floor near the front left corner, away from all marks.
    cell = int(np.argmin(np.linalg.norm(SECOND.centre[pair.second.rows] - (0.125, 0.175, 0.0), axis=1)))
    x, y = camera.project(SECOND.centre[pair.second.rows][[cell]], SIZE[0] / 3 / SIZE[1])[0] * (SIZE[0] / 3, SIZE[1])
    seen = image[int(y), int(x + 2 * SIZE[0] / 3)]
    assert beyond_error(found)[cell], "the cell was chosen so that it differs"
    expected = mpl.colormaps["PuOr_r"](0.5 + 0.5 * found.mean[cell] / reach)[:3]
    np.testing.assert_allclose(seen, expected, atol=4 / 255)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--out", "maps.jpg"), "maps.jpg does not end in .png or .svg"),
        (("--model",), "--model draws a picture: name it with --out FILE.png"),
        (("--model", "--out", "maps.svg"), "maps.svg does not end in .png"),
        (("--quantity", "brightness"), "'brightness' is not one of 'uvi'"),
    ],
)
def test_bad_input_ends_in_one_line(folder: Path, options: tuple[str, ...], told: str) -> None:
    code, out, lines = compare(folder, *options)
    assert (2, "") == (code, out)
    assert told in lines[-1]


def test_results_that_have_nothing_in_common(folder: Path) -> None:
    make_result(terrarium_patches()[-1:], tube_field(1.0), replicates=4).save(folder / "slate" / "result.npz")
    make_result(terrarium_patches()[:1], tube_field(1.0), replicates=4).save(folder / "sand" / "result.npz")
    code, out, lines = compare(folder)
    assert (2, "", 1) == (code, out, len(lines))
    assert "no surface, sensor or zone in common" in lines[0]
