"""Pictures: each pixel of a map has the colour that the colour bar gives to its value."""

import itertools
from pathlib import Path

import matplotlib as mpl
import matplotlib.image
import numpy as np
import pytest
from PIL import Image

from sim.analysis.maps import quantity
from sim.analysis.selection import Selection
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
    from viewer.stage import Look

    camera = picture(Selection(result), path, Look(view), size)
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
    expected = bar_colours(values, scale_for(Selection(result)).ticks.top)
    centre = result.centre[group.rows]
    in_sight = ~covered_by_lamp(camera, centre) & ~crossed_by_edges(camera, centre) & ~under_the_label(camera, centre)
    assert in_sight.sum() > 0.7 * group.count
    assert np.ptp(expected[in_sight], axis=0).min() > 0.2
    np.testing.assert_allclose(pixels(image, camera, centre)[in_sight], expected[in_sight], atol=2.5 / 255)


def covered_by_lamp(camera: Camera, points: FloatArray) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the line of sight to each point comes within 2 cm of the synthetic lamp, 60 cm by 2 cm at z = 55 cm."""
    along = np.linspace(0.0, 1.0, 2001)[:, None, None]
    sight = camera.eye + along * (points - camera.eye)
    near = (np.abs(sight[..., 2] - 0.55) < 0.02) & (np.abs(sight[..., 1] - 0.3) < 0.03)
    return np.any(near & (sight[..., 0] > 0.28) & (sight[..., 0] < 0.92), axis=0)


def under_the_label(
    camera: Camera, points: FloatArray, half: float = 45.0
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the name of the lamp, half so wide [px], or its line may cover each point in a picture of `SIZE`."""
    from viewer.stage import aspect

    places = np.concatenate([points, [[0.6, 0.3, 0.55]]])
    seen = camera.project(places, aspect(SIZE)) * (SIZE[1] * aspect(SIZE), SIZE[1])
    offset = seen[:-1] - seen[-1]
    # It stands over the lamp, where there is room.
    return (np.abs(offset[:, 0]) < half) & (offset[:, 1] > -8.0) & (offset[:, 1] < 65.0)


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
    from viewer.beside import _HIGH, _LEFT, _RIGHT
    from viewer.stage import COLUMN

    image, _ = taken(terrarium(), tmp_path / "bar.png", "corner")
    share = np.linspace(0.02, 0.98, 25)
    rows = ((0.42 + share * (_HIGH - 0.42)) * SIZE[1]).astype(int)
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
        picture(Selection(terrarium()), tmp_path / "small.png", size=(200, 100))
    assert list(tmp_path.iterdir()) == []


def test_a_standard_error_has_the_colours_of_its_own_bar(tmp_path: Path) -> None:
    from viewer.scale import scale_for
    from viewer.snapshot import picture
    from viewer.stage import Look

    shown = Selection(make_result(box_patches(), waves, noise=0.4, replicates=8), levels=(0.5,), part="error")
    camera = picture(shown, tmp_path / "error.png", Look("top"), SIZE)
    image = np.asarray(mpl.image.imread(tmp_path / "error.png")[::-1, :, :3], dtype=float)
    group = shown.result.group("surface", "floor")
    centre = shown.result.centre[group.rows]
    # Half the light has half the error.
    expected = 0.5 * estimate(quantity(shown.result, "uvi")[:, group.rows]).se
    free = ~under_the_label(camera, centre, 75.0)
    in_sight = ~covered_by_lamp(camera, centre) & ~crossed_by_edges(camera, centre) & free
    assert in_sight.sum() > 0.7 * group.count
    colours = bar_colours(expected, scale_for(shown).ticks.top)[in_sight]
    np.testing.assert_allclose(pixels(image, camera, centre)[in_sight], colours, atol=2.5 / 255)


def test_a_turn_is_a_row_of_pictures_or_one_that_moves(tmp_path: Path) -> None:
    from viewer.snapshot import PictureExistsError, turn
    from viewer.stage import Look

    shown = Selection(terrarium(replicates=4))
    paths = turn(shown, tmp_path / "ledge.png", Look(), 3, (640, 480))
    assert ["ledge-001.png", "ledge-002.png", "ledge-003.png"] == [path.name for path in paths]
    assert 3 == len({path.read_bytes() for path in paths})
    turn(shown, tmp_path / "ledge.gif", Look(), 3, (640, 480))
    with Image.open(tmp_path / "ledge.gif") as moving:
        assert (3, (640, 480)) == (getattr(moving, "n_frames", 1), moving.size)
    paths[0].unlink()
    paths[1].write_text("mine")
    with pytest.raises(PictureExistsError, match=r"ledge-002\.png is there already"):
        turn(shown, tmp_path / "ledge.png", Look(), 3, (640, 480))
    assert not paths[0].exists()
