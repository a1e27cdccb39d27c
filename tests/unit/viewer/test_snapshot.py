"""Pictures: each pixel of a map has the colour that the colour bar gives to its value."""

import itertools
from pathlib import Path

import matplotlib as mpl
import matplotlib.image
import numpy as np
import pytest

from sim.analysis.maps import quantity
from sim.tally.result import FloatArray, Result
from sim.tally.statistics import estimate
from tests.support.synthetic_result import SIZE as BOX
from tests.support.synthetic_result import box_patches, make_result, retitled, terrarium
from viewer.cameras import VIEWS, Camera, View
from viewer.gl import NoGLError, require_gl

pytestmark = pytest.mark.viewer

SIZE = (900, 600)


def waves(centre: FloatArray, normal: FloatArray) -> FloatArray:
    """A field that takes every value from 0 to 6 on each side of the box."""
    return 6.0 * np.abs(np.sin(centre @ np.array([7.0, 5.0, 9.0])))


@pytest.fixture(scope="module", autouse=True)
def gl() -> None:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))


def taken(result: Result, path: Path, view: View, size: tuple[int, int] = SIZE) -> tuple[FloatArray, Camera]:
    """Return the picture, rows from below, and its camera."""
    from viewer.snapshot import picture

    camera = picture(result, path, camera=view, size=size)
    image = mpl.image.imread(path)[::-1, :, :3]
    assert (size[1], size[0], 3) == image.shape
    return np.asarray(image, dtype=float), camera


def pixels(image: FloatArray, camera: Camera, points: FloatArray) -> FloatArray:
    from viewer.stage import COLUMN, aspect

    size = (image.shape[1], image.shape[0])
    seen = camera.project(points, aspect(size))
    columns = (seen[:, 0] * (1.0 - COLUMN) * size[0]).astype(int)
    return image[(seen[:, 1] * size[1]).astype(int), columns]


def bar_colours(values: FloatArray, top: float) -> FloatArray:
    return mpl.colormaps["cividis"](np.clip(values / top, 0.0, 1.0))[:, :3]


@pytest.mark.parametrize(
    ("view", "name"), [("corner", "floor"), ("corner", "back"), ("corner", "left"), ("front", "back"), ("top", "floor")]
)
def test_cells_have_the_colours_of_their_values(tmp_path: Path, view: View, name: str) -> None:
    # Nothing stands in an empty box, so that every cell of a side that is seen from within is in sight: the wall in
    # front of it is left out. No pin: nothing is within reach.
    from viewer.scale import scale_for

    result = make_result(box_patches(), waves, noise=0.2, replicates=8)
    image, camera = taken(result, tmp_path / "box.png", view)
    group = result.group("surface", name)
    values = estimate(quantity(result, "uvi")[:, group.rows]).mean
    expected = bar_colours(values, scale_for(result, "uvi").ticks.top)
    centre = result.centre[group.rows]
    in_sight = ~covered_by_lamp(camera, centre) & ~crossed_by_edges(camera, centre)
    assert in_sight.sum() > 0.8 * group.count
    assert np.ptp(expected[in_sight], axis=0).min() > 0.2
    np.testing.assert_allclose(pixels(image, camera, centre)[in_sight], expected[in_sight], atol=2.5 / 255)


def covered_by_lamp(camera: Camera, points: FloatArray) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the line of sight to each point comes within 2 cm of the synthetic lamp, 60 cm by 2 cm at z = 55 cm."""
    along = np.linspace(0.0, 1.0, 2001)[:, None, None]
    sight = camera.eye + along * (points - camera.eye)
    near = (np.abs(sight[..., 2] - 0.55) < 0.02) & (np.abs(sight[..., 1] - 0.3) < 0.03)
    return np.any(near & (sight[..., 0] > 0.28) & (sight[..., 0] < 0.92), axis=0)


def crossed_by_edges(camera: Camera, points: FloatArray) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether a line along the edges of the box is drawn within 3 pixels of each point."""
    from viewer.stage import aspect

    corners = np.array(list(itertools.product(*((0.0, length) for length in BOX))))
    ends = [(a, b) for a, b in itertools.combinations(corners, 2) if np.count_nonzero(a != b) == 1]
    share = np.linspace(0.0, 1.0, 1001)[:, None]
    drawn = np.concatenate([a + share * (b - a) for a, b in ends])
    seen, lines = (camera.project(place, aspect(SIZE)) * SIZE[1] for place in (points, drawn))
    seen[:, 0] *= aspect(SIZE)
    lines[:, 0] *= aspect(SIZE)
    return np.array([np.linalg.norm(lines - point, axis=1).min() < 3.0 for point in seen])


def test_the_bar_runs_through_the_colours_of_the_map(tmp_path: Path) -> None:
    from viewer.beside import _HIGH, _LEFT, _LOW, _RIGHT
    from viewer.stage import COLUMN

    image, _ = taken(terrarium(), tmp_path / "bar.png", "corner")
    share = np.linspace(0.02, 0.98, 25)
    rows = ((_LOW + share * (_HIGH - _LOW)) * SIZE[1]).astype(int)
    column = int((1.0 - COLUMN + COLUMN * 0.5 * (_LEFT + _RIGHT)) * SIZE[0])
    np.testing.assert_allclose(image[rows, column], bar_colours(share, 1.0), atol=6 / 255)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("size", [(1200, 800), (640, 480), (640, 1200), (1600, 600)])
def test_nothing_is_cut_off(tmp_path: Path, view: View, size: tuple[int, int]) -> None:
    from viewer.stage import COLUMN

    title = "A terrarium with a title that is long enough to need more than one line in all but the widest of pictures"
    image, _ = taken(retitled(terrarium(), title), tmp_path / "whole.png", view, size)
    column = round((1.0 - COLUMN) * size[0])
    for edge in (image[:3], image[-3:], image[:, :3], image[:, -3:], image[:, column - 2 : column + 3]):
        np.testing.assert_array_equal(edge, np.ones_like(edge))


def test_lamp_is_seen(tmp_path: Path) -> None:
    image, camera = taken(terrarium(), tmp_path / "lamp.png", "top")
    red, green, blue = pixels(image, camera, np.array([[0.45, 0.3, 0.55]]))[0]
    assert red > 1.5 * green > 4.0 * blue


def test_a_picture_that_is_too_small_for_its_words(tmp_path: Path) -> None:
    from viewer.snapshot import picture

    with pytest.raises(ValueError, match="640 x 480"):
        picture(terrarium(), tmp_path / "small.png", size=(200, 100))
    assert list(tmp_path.iterdir()) == []
