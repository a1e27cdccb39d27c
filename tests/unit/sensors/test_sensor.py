"""Points, planes and grids."""

from typing import Any

import numpy as np
import pytest
from pydantic import TypeAdapter, ValidationError

from sim.sensors.sensor import Grid, Plane, Point, Sensor
from tests.support.manual import examples

SENSOR: TypeAdapter[Point | Plane | Grid] = TypeAdapter(Sensor)
LAMPS = {"tube": np.array([0.6, 0.3, 0.7])}
POINT = {"name": "meter", "kind": "point", "at": ["60 cm", "30 cm", "30 cm"]}
GRID = {
    "name": "layer",
    "kind": "grid",
    "corner": ["10 cm", "20 cm", "30 cm"],
    "edge_u": ["30 cm", "0 cm", "0 cm"],
    "edge_v": ["0 cm", "20 cm", "0 cm"],
    "cells": [3, 2],
}
PLANE = {key: value for key, value in GRID.items() if key != "cells"} | {"kind": "plane"}


def sensor(keys: dict[str, Any], **changes: object) -> Point | Plane | Grid:
    return SENSOR.validate_python(keys | changes)


def refusal(keys: dict[str, Any], **changes: object) -> str:
    with pytest.raises(ValidationError) as caught:
        sensor(keys, **changes)
    return "; ".join(str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors())


def test_point_is_a_patch_without_size() -> None:
    found = sensor(POINT, normal=[0, 3, 4]).receivers({})
    assert found.origin == pytest.approx(np.array([[0.6, 0.3, 0.3]]))
    assert (found.edge_u.tolist(), found.edge_v.tolist()) == ([[0.0] * 3], [[0.0] * 3])
    assert found.normal == pytest.approx(np.array([[0.0, 0.6, 0.8]]))


def test_point_looks_towards_its_lamp() -> None:
    found = sensor(POINT, at=["60 cm", "0 cm", "30 cm"], towards="tube").receivers(LAMPS)
    assert found.normal == pytest.approx(np.array([[0.0, 0.6, 0.8]]))


@pytest.mark.parametrize(
    ("lamps", "message"),
    [
        (LAMPS, "no lamp is named 'panel'; the lamps are: 'tube'"),
        ({}, "no lamp is named 'panel'; the lamps are: none"),
        (
            {"panel": np.array([0.6, 0.3, 0.3])},
            "the point lies at the centre of lamp 'panel', so it cannot look towards it",
        ),
    ],
)
def test_point_without_a_lamp_to_look_at(lamps: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        sensor(POINT, towards="panel").receivers(lamps)


@pytest.mark.parametrize("aims", [{}, {"normal": [0, 0, 1], "towards": "tube"}])
def test_point_has_one_aim(aims: dict[str, object]) -> None:
    assert refusal(POINT, **aims) == (
        "a point needs either normal = [0, 0, 1] or towards = 'name of a lamp', one of the two"
    )


def test_plane_is_one_patch_facing_u_cross_v() -> None:
    found = sensor(PLANE, edge_v=["0 cm", "-20 cm", "0 cm"]).receivers({})
    assert found.origin == pytest.approx(np.array([[0.1, 0.2, 0.3]]))
    assert found.edge_u == pytest.approx(np.array([[0.3, 0.0, 0.0]]))
    assert found.edge_v == pytest.approx(np.array([[0.0, -0.2, 0.0]]))
    assert found.normal.tolist() == [[0.0, 0.0, -1.0]]


def test_cells_of_a_grid_run_along_u_first() -> None:
    found = sensor(GRID).receivers({})
    assert found.origin == pytest.approx(
        np.array(
            [
                [0.1, 0.2, 0.3],
                [0.2, 0.2, 0.3],
                [0.3, 0.2, 0.3],
                [0.1, 0.3, 0.3],
                [0.2, 0.3, 0.3],
                [0.3, 0.3, 0.3],
            ]
        )
    )
    assert found.edge_u == pytest.approx(np.tile([0.1, 0.0, 0.0], (6, 1)))
    assert found.edge_v == pytest.approx(np.tile([0.0, 0.1, 0.0], (6, 1)))
    assert found.normal == pytest.approx(np.tile([0.0, 0.0, 1.0], (6, 1)))


def test_cells_of_a_grid_on_a_slope_cover_it() -> None:
    slope = sensor(GRID, edge_v=["0 cm", "20 cm", "15 cm"]).receivers({})
    areas = np.linalg.norm(np.cross(slope.edge_u, slope.edge_v), axis=1)
    assert areas.sum() == pytest.approx(0.3 * 0.25)
    last = slope.origin[-1] + slope.edge_u[-1] + slope.edge_v[-1]
    assert last == pytest.approx([0.4, 0.4, 0.45])
    assert slope.normal[0] == pytest.approx([0.0, -0.6, 0.8])


@pytest.mark.parametrize(
    ("keys", "changes", "message"),
    [
        (PLANE, {"edge_u": ["0 cm"] * 3}, "'edge_u' has no length; it is the vector along one side of the rectangle"),
        (GRID, {"edge_v": ["0 cm"] * 3}, "'edge_v' has no length; it is the vector along one side of the rectangle"),
        (GRID, {"edge_v": ["1 cm", "20 cm", "0 cm"]}, "'edge_u' and 'edge_v' must be perpendicular to each other"),
        (GRID, {"cells": [0, 2]}, "Input should be greater than or equal to 1"),
        (GRID, {"cells": [2000, 2000]}, "4000000 cells are more than 1000000; ask for fewer"),
        (PLANE, {"cells": [2, 2]}, "Extra inputs are not permitted"),
        (POINT, {"normal": [0, 0, 0]}, "a direction must have a finite length above zero, such as [0, 0, 1]"),
    ],
)
def test_refusals(keys: dict[str, object], changes: dict[str, object], message: str) -> None:
    assert refusal(keys, **changes) == message


@pytest.mark.parametrize("page", [Point, Plane, Grid])
def test_example_of_the_manual_page(page: type[Point | Plane | Grid]) -> None:
    (example,) = examples(page)
    (keys,) = example["sensors"]
    found = sensor(keys)
    assert isinstance(found, page)
    assert len(found.receivers(LAMPS).origin) == (72 if page is Grid else 1)
