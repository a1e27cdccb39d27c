"""Meshes need no GL."""

from dataclasses import replace

import numpy as np
import pytest

from sim.analysis.maps import quantity
from sim.analysis.selection import Selection
from sim.tally.result import Geometry, Group, Result
from sim.tally.statistics import estimate
from tests.support.synthetic_result import terrarium
from viewer.layers import ERROR, ROW, VALUE, Layer, is_screen, is_wall, layers, mapped


def with_geometry(result: Result, *names: str, **scene: object) -> Result:
    """Give each name a triangle of its own."""
    corners = np.array([[0.0, 0.0, 0.1], [0.1, 0.0, 0.1], [0.0, 0.1, 0.1]])
    vertices = np.concatenate([corners + 0.01 * row for row in range(len(names))])
    faces = np.arange(3 * len(names), dtype=np.int64).reshape(-1, 3)
    geometry = Geometry(vertices, faces, np.arange(len(names), dtype=np.int64), names)
    return replace(result, geometry=geometry, scene=result.scene | scene)


def roles(result: Result) -> dict[str, str]:
    return {layer.name: layer.role for layer in layers(Selection(result)) if layer.role != "map"}


@pytest.fixture(scope="module")
def result() -> Result:
    return terrarium()


def found(result: Result, name: str) -> tuple[Group, Layer]:
    group = result.group("surface", name)
    return group, next(layer for layer in layers(Selection(result)) if layer.name == name and layer.role == "map")


@pytest.mark.parametrize("name", ["floor", "ceiling", "front", "right", "ledge.top"])
def test_each_receiver_is_a_cell_in_its_place_with_its_value_and_error(result: Result, name: str) -> None:
    group, layer = found(result, name)
    told = estimate(quantity(result, "uvi")[:, group.rows])
    np.testing.assert_allclose(layer.mesh.cell_centers().points, result.centre[group.rows], atol=1e-6)
    np.testing.assert_array_equal(layer.mesh.cell_data[VALUE], told.mean)
    np.testing.assert_array_equal(layer.mesh.cell_data[ERROR], told.se)
    np.testing.assert_array_equal(layer.mesh.cell_data[ROW], np.arange(group.first, group.first + group.count))


@pytest.mark.parametrize("name", ["floor", "ceiling", "left", "ledge.front"])
def test_fronts_are_the_sides_that_are_read(result: Result, name: str) -> None:
    group, layer = found(result, name)
    normals = layer.mesh.compute_normals(auto_orient_normals=False, consistent_normals=False).cell_data["Normals"]
    np.testing.assert_allclose(normals, result.normal[group.rows], atol=1e-6)


def test_fronts_follow_the_normal_where_the_edges_say_otherwise(result: Result) -> None:
    group = result.group("surface", "floor")
    normal = result.normal.copy()
    normal[group.rows] *= -1.0
    _, layer = found(replace(result, normal=normal), "floor")
    normals = layer.mesh.compute_normals(auto_orient_normals=False, consistent_normals=False).cell_data["Normals"]
    np.testing.assert_allclose(normals, normal[group.rows], atol=1e-6)


def test_cells_cut_away_whole_are_left_out(result: Result) -> None:
    group = result.group("surface", "ceiling")
    area = result.area.copy()
    area[group.first + 3 : group.first + 7] = 0.0
    _, layer = found(replace(result, area=area), "ceiling")
    assert group.count - 4 == layer.mesh.n_cells
    kept = np.delete(result.centre[group.rows], np.arange(3, 7), axis=0)
    np.testing.assert_allclose(layer.mesh.cell_centers().points, kept, atol=1e-6)


def test_another_quantity_has_other_values(result: Result) -> None:
    group = result.group("surface", "floor")
    layer = next(layer for layer in layers(Selection(result, "uvb-320")) if layer.name == "floor")
    told = estimate(quantity(result, "uvb-320")[:, group.rows])
    np.testing.assert_array_equal(layer.mesh.cell_data[VALUE], told.mean)


def test_an_unknown_quantity(result: Result) -> None:
    with pytest.raises(KeyError, match="brightness"):
        layers(Selection(result, "brightness"))


def test_roles_of_what_has_no_map(result: Result) -> None:
    scene = {
        "reflectors": [{"name": "trough"}],
        "laws": {"net": {"kind": "screen"}, "bark": {"kind": "lambertian"}},
        "parts": [{"name": "net", "law": "net"}, {"name": "sieve", "law": {"kind": "screen"}}, {"name": "log"}],
    }
    names = ("tube", "trough", "ceiling.opening 1", "net", "sieve.top", "log", "floor", "ledge.top")
    expected = {
        "tube": "lamp",
        "trough": "reflector",
        "ceiling.opening 1": "cover",
        "net": "screen",
        "sieve.top": "screen",
        "log": "thing",
        "ledge.top": "back",
    }
    assert expected == roles(with_geometry(result, *names, **scene))


OPENINGS = [{"wall": "back", "cover": "net"}, {"wall": "ceiling"}, {"wall": "ceiling", "cover": {"kind": "screen"}}]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("back.opening 1", True),
        ("ceiling.opening 1", False),
        ("ceiling.opening 2", True),
        ("ceiling.opening 3", False),
        ("ceiling", True),
        ("floor", False),
        ("left", False),
    ],
)
def test_screens_are_told_by_their_law(name: str, expected: bool) -> None:
    walls = {"all": "paint", "ceiling": "net"}
    scene = {"laws": {"net": {"kind": "screen"}}, "enclosure": {"walls": walls, "openings": OPENINGS}}
    assert expected is is_screen(scene, name)


def test_walls_of_a_mesh_are_walls_without_a_map(result: Result) -> None:
    walls = Group("surface", "walls", 0, 5)
    assert {"walls": "wall"} == roles(with_geometry(replace(result, groups=(walls,)), "walls"))


def test_in_free_space_sensors_and_zones_carry_the_map(result: Result) -> None:
    bare = replace(result, groups=tuple(group for group in result.groups if group.kind != "surface"))
    assert ["back height", "basking", "hide"] == [group.name for group in mapped(bare)]


@pytest.mark.parametrize(
    ("name", "expected"),
    [("floor", True), ("walls", True), ("back.opening 2", True), ("ledge.top", False), ("floor.top", False)],
)
def test_names_of_walls(name: str, expected: bool) -> None:
    assert expected is is_wall(name)
