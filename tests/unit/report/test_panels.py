"""Surfaces laid flat: every cell lands where it is in the scene."""

import numpy as np
import pytest

from sim.analysis.maps import Maps
from sim.report.map_figure import rows_sheet, split_sheet
from sim.report.marks import marked
from sim.report.panels import Panel, panel
from sim.report.unfolded import WALLS, box_walls, unfolded_sheet
from tests.support.synthetic_result import (
    FloatArray,
    Patch,
    box_patches,
    make_result,
    terrarium,
    terrarium_patches,
    uniform,
)


def address(centre: FloatArray, normal: FloatArray) -> FloatArray:
    """A field that tells where it was read."""
    return 1.0 + centre @ [3.0, 7.0, 13.0]


def laid(patch: Patch) -> Panel:
    result = make_result([patch], address, noise=0.0)
    return panel(Maps(result), result.groups[0])


@pytest.mark.parametrize("patch", box_patches(), ids=lambda patch: patch.name)
def test_cells_lie_at_their_coordinates(patch: Patch) -> None:
    flat = laid(patch)
    assert "".join(flat.axes) in {"xy", "xz", "yz"}
    across, up = flat.cell_centres
    place = dict(zip("xyz", 100 * patch.frame.origin, strict=True))
    for row, along_up in enumerate(up):
        for column, along_across in enumerate(across):
            place |= {flat.axes[0]: along_across, flat.axes[1]: along_up}
            expected = address(np.array([[place["x"], place["y"], place["z"]]]) / 100, np.zeros(3))[0]
            assert flat.values[row, column] == pytest.approx(expected, rel=1e-3)


def test_level_surfaces_tell_their_height() -> None:
    walls = {patch.name: laid(patch) for patch in box_patches()}
    assert walls["ceiling"].level == pytest.approx(60.0)
    assert walls["left"].level is None


def test_a_tilted_surface_is_seen_along_its_own_edges() -> None:
    flat = laid(Patch("surface", "ramp", (0, 0, 0), (0.3, 0, 0.4), (0, 0.2, 0), (5, 2)))
    assert flat.axes == ("u", "v")
    assert flat.size == pytest.approx((50.0, 20.0))
    assert flat.values.shape == (2, 5)


def test_a_cell_cut_away_is_left_blank() -> None:
    result = make_result(box_patches(), address, noise=0.0)
    result.area[3] = 0.0
    flat = panel(Maps(result), result.groups[0])
    assert np.argwhere(np.isnan(flat.values)).tolist() == [[0, 3]]


def test_the_highest_cell_is_found_with_its_place() -> None:
    flat = laid(box_patches()[0])
    assert flat.highest[:2] == pytest.approx((117.5, 57.5))


def test_walls_unfold_around_the_floor() -> None:
    result = make_result(box_patches(), address)
    walls = box_walls([panel(Maps(result), group) for group in result.groups])
    assert walls is not None
    sheet = unfolded_sheet(walls, 8.6)
    spots = {spot.panel.name: spot for spot in sheet.spots}
    assert set(spots) == set(WALLS)
    assert spots["left"].left < spots["floor"].left < spots["right"].left
    assert spots["front"].bottom < spots["floor"].bottom < spots["back"].bottom < spots["ceiling"].bottom
    # Neighbours meet along the edge that they share: x with x, y with y, z from the floor's edge outwards.
    assert (spots["left"].panel.axes, spots["left"].backwards_across) == (("z", "y"), True)
    assert (spots["front"].panel.axes, spots["front"].backwards_up) == (("x", "z"), True)
    assert (spots["ceiling"].panel.axes, spots["ceiling"].backwards_up) == (("x", "y"), True)
    right = spots["right"].left + spots["right"].panel.size[0] * sheet.inches_per_unit
    assert right == pytest.approx(8.6)


def test_five_walls_are_no_box() -> None:
    result = make_result(box_patches()[:5], address)
    assert box_walls([panel(Maps(result), group) for group in result.groups]) is None


def test_zones_at_the_same_height_and_lamps_above_are_outlined() -> None:
    result = terrarium()
    maps = Maps(result)
    zones = [panel(maps, group) for group in result.of_kind("zone")]
    floor, ledge = marked([panel(maps, group) for group in result.of_kind("reach")], zones, result)
    assert [mark.name for mark in floor.marks] == ["tube", "hide"]
    assert [mark.name for mark in ledge.marks] == ["basking"]
    assert floor.marks[0].across == pytest.approx((30.0, 90.0))


def test_sheets_are_split_where_they_would_outgrow_a_page() -> None:
    maps = Maps(make_result([*box_patches(), *terrarium_patches()[6:8]], uniform(1.0)))
    panels = [panel(maps, group) for group in maps.result.groups]
    sheets = split_sheet(panels, 8.0, 7.0)
    assert [one.name for sheet in sheets for one in sheet] == [one.name for one in panels]
    assert len(sheets) > 1
    assert all(rows_sheet(sheet, 8.0).height <= 7.0 for sheet in sheets)
    assert [panels] == split_sheet(panels, 8.0, 1000.0)
    assert [] == split_sheet([], 8.0, 7.0)
