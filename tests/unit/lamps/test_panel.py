"""The flat lamp."""

import numpy as np
import pytest

from tests.unit.lamps.lamp_specs import PANEL, lamp, refusal


def test_panel_shines_to_u_cross_v_over_its_whole_area() -> None:
    shape = lamp(PANEL).shape()
    assert shape.lit_area == pytest.approx(0.12, rel=1e-12)
    assert shape.body.normals == pytest.approx(np.tile([0.0, 0.0, -1.0], (2, 1)))
    assert shape.facing.tolist() == [0.0, 0.0, -1.0]
    assert shape.open_body


def test_axis_runs_along_u_through_the_centre() -> None:
    shape = lamp(PANEL).shape()
    assert shape.centre == pytest.approx([0.6, 0.3, 0.6])
    assert (shape.start, shape.end) == (pytest.approx([0.3, 0.3, 0.6]), pytest.approx([0.9, 0.3, 0.6]))
    assert shape.radius == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"facing": [0, 0, -1]},
            "a panel shines to edge_u x edge_v; leave 'facing' out, or exchange the edges",
        ),
        (
            {"edge_v": ["0 cm", "0 cm", "0 cm"]},
            "'edge_v' has no length; it is the vector along one side of the panel",
        ),
        (
            {"edge_v": ["5 cm", "-20 cm", "0 cm"]},
            "'edge_u' and 'edge_v' must be perpendicular to each other",
        ),
    ],
)
def test_refusals(changes: dict[str, object], message: str) -> None:
    assert refusal(PANEL, **changes) == message
