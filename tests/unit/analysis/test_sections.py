"""Sections: what a plane cuts, and readings in their places."""

import numpy as np

from sim.analysis.comparison import Comparison
from sim.analysis.maps import Maps
from sim.analysis.sections import outlines, sections
from sim.analysis.selection import Selection
from sim.geometry.mesh import FloatArray
from sim.tally.result import Geometry
from tests.support.synthetic_result import Patch, box_patches, make_result

CUBE = np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 2.0) for z in (0.0, 3.0)])
QUADS = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
FACES = np.array([corner for a, b, c, d in QUADS for corner in ((a, b, c), (a, c, d))], dtype=np.int64)
BOX = Geometry(CUBE, FACES, np.zeros(len(FACES), dtype=np.int64), ("box",))


def test_a_plane_cuts_a_box_in_a_rectangle() -> None:
    for axis, perimeter in ((0, 10.0), (1, 8.0), (2, 6.0)):
        lines = outlines(BOX, axis, 0.4)
        lengths = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1)
        np.testing.assert_allclose(lengths.sum(), perimeter, rtol=1e-9)
        ends = np.delete(CUBE, axis, axis=1)
        np.testing.assert_allclose(lines.reshape(-1, 2).max(axis=0), ends.max(axis=0), rtol=1e-9)


def test_a_plane_beside_it_cuts_nothing() -> None:
    assert (0, 2, 2) == outlines(BOX, 2, 3.5).shape


def field(centre: FloatArray, normal: FloatArray) -> FloatArray:
    return 1.0 + centre @ np.array([1.0, 10.0, 100.0])


def test_strips_are_stacked_by_height_and_axes_ascend() -> None:
    heights = (0.05, 0.15, 0.25)
    upright = [
        Patch(
            "section",
            f"section {row}",
            (0.0, 0.28, z),
            (0.8, 0, 0),
            (0, 0.04, 0),
            (4, 1),
            {"section": "y=0.3000", "axis": 1, "at": 0.3, "row": row, "step": 0.1},
        )
        for row, z in enumerate(heights)
    ]
    level = Patch(
        "section", "level", (0, 0, 0.1), (0.8, 0, 0), (0, 0.6, 0), (4, 3), {"section": "z=0.1", "axis": 2, "at": 0.1}
    )
    result = make_result([*upright, level, *box_patches()], field, noise=0.0)
    compared = Comparison(Selection(result), Selection(result))
    assert ({"surface"}, ()) == ({pair.first.kind for pair in compared.pairs}, compared.left_out)
    found = sections(Maps(result))
    assert [(1, 0.3), (2, 0.1)] == [(one.axis, one.at) for one in found]
    first, second = found
    assert ((0, 2), (0, 1)) == (first.axes, second.axes)
    np.testing.assert_allclose((*first.across, *first.up), (0.0, 0.8, 0.0, 0.3), atol=1e-12)
    np.testing.assert_allclose((*second.across, *second.up), (0.0, 0.8, 0.0, 0.6), atol=1e-12)
    x = np.array([0.1, 0.3, 0.5, 0.7])
    expected = 1.0 + x[None, :] + 10.0 * 0.3 + 100.0 * np.array(heights)[:, None]
    np.testing.assert_allclose(first.mean, expected, rtol=1e-4)  # irradiance is stored in single precision
    y = np.array([0.1, 0.3, 0.5])
    np.testing.assert_allclose(second.mean, 1.0 + x[None, :] + 10.0 * y[:, None] + 10.0, rtol=1e-4)
