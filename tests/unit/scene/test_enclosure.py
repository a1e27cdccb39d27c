from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from pydantic import ValidationError

from sim.geometry.closed import is_watertight, merged, signed_volume
from sim.geometry.mesh import joined
from sim.geometry.patches import patch_areas
from sim.materials.surface import Surface
from sim.scene.enclosure import Enclosure
from sim.scene.wall import Opening, Walls
from sim.scene.wall_names import WALLS
from tests.support.manual import examples

SIZE = ["120 cm", "60 cm", "50 cm"]
SCREEN = {"kind": "screen", "wire": "0.28 mm", "pitch": "1.5875 mm"}
INWARD = {
    "floor": (0, 0, 1),
    "ceiling": (0, 0, -1),
    "front": (0, 1, 0),
    "back": (0, -1, 0),
    "left": (1, 0, 0),
    "right": (-1, 0, 0),
}


def opening(wall: str, corner: list[str], size: list[str], **more: object) -> dict[str, Any]:
    return {"wall": wall, "corner": corner, "size": size, **more}


def box(*openings: dict[str, Any], **walls: object) -> Enclosure:
    keys = {"size": SIZE, "walls": {"all": "cork", **walls}, "openings": list(openings)}
    return Enclosure.model_validate(keys)


def by_name(enclosure: Enclosure, receiver_size: float = 0.05) -> dict[str, Surface]:
    return {surface.name: surface for surface in enclosure.surfaces(receiver_size)}


def room(folder: Path, mesh: trimesh.Trimesh, name: str = "room.stl") -> Enclosure:
    mesh.export(folder / name)
    return Enclosure.model_validate({"mesh": name, "unit": "mm", "law": "cork"}, context={"folder": str(folder)})


def box_mm() -> trimesh.Trimesh:
    return trimesh.creation.box(bounds=[[0.0, 0.0, 0.0], [1200.0, 600.0, 500.0]])


def test_box_is_closed_and_every_wall_is_read_from_within() -> None:
    surfaces = by_name(box())
    assert tuple(surfaces) == WALLS
    shell = merged(joined([surface.mesh for surface in surfaces.values()]))
    assert is_watertight(shell)
    np.testing.assert_allclose(signed_volume(shell), -1.2 * 0.6 * 0.5, rtol=1e-12)
    for name, surface in surfaces.items():
        assert surface.frame is not None
        np.testing.assert_allclose(surface.frame.normal, INWARD[name], atol=1e-15)
        np.testing.assert_allclose(surface.mesh.normals, np.tile(INWARD[name], (2, 1)), atol=1e-15)
    assert [name for name, surface in surfaces.items() if surface.reachable] == ["floor"]
    assert not any(surface.closed for surface in surfaces.values())


@pytest.mark.parametrize(
    ("wall", "shape", "second_cell", "second_row"),
    [
        ("floor", (12, 6), (0.15, 0.05, 0.0), (0.05, 0.15, 0.0)),
        ("ceiling", (12, 6), (0.15, 0.05, 0.5), (0.05, 0.15, 0.5)),
        ("front", (12, 5), (0.15, 0.0, 0.05), (0.05, 0.0, 0.15)),
        ("back", (12, 5), (0.15, 0.6, 0.05), (0.05, 0.6, 0.15)),
        ("left", (6, 5), (0.0, 0.15, 0.05), (0.0, 0.05, 0.15)),
        ("right", (6, 5), (1.2, 0.15, 0.05), (1.2, 0.05, 0.15)),
    ],
)
def test_cells_run_along_the_walls_own_coordinates(
    wall: str, shape: tuple[int, int], second_cell: tuple[float, ...], second_row: tuple[float, ...]
) -> None:
    frame = by_name(box(), 0.1)[wall].frame
    assert frame is not None
    assert frame.shape == shape
    np.testing.assert_allclose(frame.cell_centres[1], second_cell)
    np.testing.assert_allclose(frame.cell_centres[shape[0]], second_row)


def test_opening_is_cut_out_of_triangles_and_cells() -> None:
    front = by_name(box(opening("front", ["10 cm", "12 cm"], ["37 cm", "21 cm"])))["front"]
    assert front.frame is not None
    area = 1.2 * 0.5 - 0.37 * 0.21
    np.testing.assert_allclose(front.mesh.areas.sum(), area, rtol=1e-12)
    np.testing.assert_allclose(front.frame.cell_areas.sum(), area, rtol=1e-12)
    low, high = front.mesh.bounds
    np.testing.assert_allclose([low, high], [[0.0, 0.0, 0.0], [1.2, 0.0, 0.5]], atol=1e-15)
    # Cells with a centre in the hole, away from its edges, are gone.
    inside = (np.abs(front.frame.cell_centres - [0.285, 0.0, 0.225]) < [0.15, 1.0, 0.07]).all(axis=1)
    np.testing.assert_allclose(front.frame.cell_areas[inside], 0.0, atol=1e-12)


@pytest.mark.parametrize("wall", WALLS)
def test_cover_closes_its_opening_and_looks_inward(wall: str) -> None:
    surfaces = by_name(box(opening(wall, ["10 cm", "12 cm"], ["25 cm", "20 cm"], cover="glass-clear-4mm")))
    cover = surfaces[f"{wall}.opening 1"]
    assert cover.frame is not None
    np.testing.assert_allclose(cover.mesh.normals, np.tile(INWARD[wall], (2, 1)), atol=1e-12)
    np.testing.assert_allclose(cover.frame.normal, INWARD[wall], atol=1e-12)
    np.testing.assert_allclose(cover.mesh.areas.sum(), 0.25 * 0.20, rtol=1e-12)
    np.testing.assert_allclose(cover.frame.origin, cover.mesh.bounds[0], atol=1e-12)
    assert cover.frame.shape == (5, 4)
    shell = merged(joined([surface.mesh for surface in surfaces.values()]))
    assert is_watertight(shell)


def test_openings_are_counted_on_each_wall_and_holes_have_no_surface() -> None:
    enclosure = box(
        opening("ceiling", ["10 cm", "10 cm"], ["20 cm", "20 cm"], cover=SCREEN),
        opening("front", ["10 cm", "10 cm"], ["20 cm", "20 cm"], cover="cork"),
        opening("ceiling", ["40 cm", "10 cm"], ["20 cm", "20 cm"]),
        opening("ceiling", ["70 cm", "10 cm"], ["20 cm", "20 cm"], cover=SCREEN),
    )
    expected = ("floor", "ceiling", "ceiling.opening 1", "ceiling.opening 3", "front", "front.opening 1")
    assert enclosure.surface_names == (*expected, "back", "left", "right")
    assert tuple(by_name(enclosure)) == enclosure.surface_names


def test_front_that_is_one_opening_leaves_only_its_cover() -> None:
    enclosure = box(opening("front", ["0 cm", "0 cm"], ["120 cm", "50 cm"], cover="glass-clear-4mm"))
    assert "front" not in enclosure.surface_names
    cover = by_name(enclosure)["front.opening 1"]
    np.testing.assert_allclose(cover.mesh.areas.sum(), 1.2 * 0.5)


def test_openings_that_meet_within_rounding_do_not_overlap_and_leave_no_sliver() -> None:
    # 0.1 + 0.2 is above 0.3 in binary.
    front = by_name(
        box(
            opening("front", ["10 cm", "10 cm"], ["20 cm", "20 cm"]),
            opening("front", ["30 cm", "15 cm"], ["20 cm", "20 cm"]),
            opening("front", ["60 cm", "30 cm"], ["60 cm", "10 cm"]),
        )
    )["front"]
    np.testing.assert_allclose(front.mesh.areas.sum(), 1.2 * 0.5 - 2 * 0.04 - 0.06, rtol=1e-12)
    assert front.mesh.areas.min() > 1e-5


def test_screens_are_not_read_and_their_wires_run_along_the_walls_first_edge() -> None:
    surfaces = by_name(box(ceiling=SCREEN, left=SCREEN))
    assert [name for name, surface in surfaces.items() if not surface.measured] == ["ceiling", "left"]
    np.testing.assert_allclose(surfaces["ceiling"].tangent, [1.0, 0.0, 0.0])
    np.testing.assert_allclose(surfaces["left"].tangent, [0.0, 1.0, 0.0])


def test_each_wall_has_its_own_law_or_that_of_all() -> None:
    surfaces = by_name(box(floor="sand-dry"))
    assert {name: surface.law for name, surface in surfaces.items()} == {
        wall: "sand-dry" if wall == "floor" else "cork" for wall in WALLS
    }


@pytest.mark.parametrize(
    ("point", "inside"),
    [
        ((0.6, 0.3, 0.25), True),
        ((0.0, 0.0, 0.0), True),
        ((1.2, 0.6, 0.5), True),
        ((0.6, 0.3, 0.51), False),
        ((-0.01, 0.3, 0.25), False),
    ],
)
def test_box_contains_its_inside_and_its_walls(point: tuple[float, float, float], inside: bool) -> None:
    assert box().contains(np.array(point)) == inside


def test_bounds_of_a_box_are_its_size() -> None:
    np.testing.assert_allclose(box().bounds(), [[0.0, 0.0, 0.0], [1.2, 0.6, 0.5]])
    assert box().description() is None


@pytest.mark.parametrize("outward", [True, False])
def test_mesh_room_is_read_from_within_whichever_way_the_file_looks(outward: bool, tmp_path: Path) -> None:
    mesh = box_mm()
    if not outward:
        mesh.invert()
    enclosure = room(tmp_path, mesh)
    surfaces = by_name(enclosure)
    assert tuple(surfaces) == ("floor", "ceiling", "walls") == enclosure.surface_names
    shell = merged(joined([surface.mesh for surface in surfaces.values()]), step=1e-9)
    assert is_watertight(shell)
    np.testing.assert_allclose(signed_volume(shell), -1.2 * 0.6 * 0.5, rtol=1e-6)
    np.testing.assert_allclose(surfaces["floor"].mesh.bounds, [[0, 0, 0], [1.2, 0.6, 0]], atol=1e-6)
    assert np.all(surfaces["floor"].mesh.normals[:, 2] > 0.99)
    assert [name for name, surface in surfaces.items() if surface.reachable] == ["floor"]
    assert ("fronts faced outward and were turned" in str(enclosure.description())) == outward
    assert ("were turned" in str(enclosure.description())) == outward
    assert enclosure.contains(np.array([0.6, 0.3, 0.25]))
    assert not enclosure.contains(np.array([0.6, 0.3, 0.55]))
    np.testing.assert_allclose(enclosure.bounds(), [[0, 0, 0], [1.2, 0.6, 0.5]], atol=1e-6)


def test_mesh_room_without_a_ceiling_is_still_read_from_within(tmp_path: Path) -> None:
    mesh = box_mm()
    mesh.update_faces(mesh.face_normals[:, 2] < 0.5)
    enclosure = room(tmp_path, mesh)
    surfaces = by_name(enclosure)
    assert tuple(surfaces) == ("floor", "walls")
    assert np.all(surfaces["floor"].mesh.normals[:, 2] > 0.99)
    middle = np.array([0.6, 0.3, 0.25])
    walls = surfaces["walls"].mesh
    towards = np.einsum("mk,mk->m", walls.normals, middle - walls.corners.mean(axis=1))
    assert np.all(towards > 0.0)
    assert enclosure.contains(middle)
    assert "not watertight" in str(enclosure.description())


def test_receivers_of_a_mesh_room_are_of_about_the_asked_size(tmp_path: Path) -> None:
    floor = by_name(room(tmp_path, box_mm()), 0.1)["floor"]
    assert floor.patches is not None
    areas = patch_areas(floor.mesh, floor.patches)
    np.testing.assert_allclose(areas.sum(), 1.2 * 0.6, rtol=1e-6)
    assert 0.5 * 0.01 < np.median(areas) < 2.0 * 0.01


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, "either size = .* or mesh"),
        ({"size": SIZE, "mesh": "room.stl"}, "either size = .* or mesh"),
        ({"size": SIZE}, "'walls' is missing; an enclosure by 'size' needs it"),
        ({"size": SIZE, "walls": {"all": "cork"}, "law": "cork"}, "'law' does not belong to an enclosure by 'size'"),
        ({"size": SIZE, "walls": {"all": "cork"}, "unit": "mm"}, "'unit' does not belong to an enclosure by 'size'"),
        ({"mesh": "room.stl", "unit": "mm"}, "'law' is missing; an enclosure by 'mesh' needs it"),
        ({"mesh": "room.stl", "law": "cork"}, "'unit' is missing: a .stl file does not say it"),
        (
            {"mesh": "room.stl", "unit": "mm", "law": "cork", "walls": {"all": "cork"}},
            "'walls' does not belong to an enclosure by 'mesh'",
        ),
        ({"size": SIZE, "walls": {"floor": "cork"}}, "no law for ceiling, front, back, left, right; name one for each"),
    ],
)
def test_keys_that_do_not_go_together_are_refused(keys: dict[str, Any], message: str, tmp_path: Path) -> None:
    box_mm().export(tmp_path / "room.stl")
    with pytest.raises(ValidationError, match=message):
        Enclosure.model_validate(keys, context={"folder": str(tmp_path)})


def test_six_named_walls_need_no_law_for_all() -> None:
    walls = Walls.model_validate(dict.fromkeys(WALLS, "cork"))
    assert [walls.law(wall) for wall in WALLS] == ["cork"] * 6


@pytest.mark.parametrize(
    ("openings", "message"),
    [
        (
            [opening("front", ["90 cm", "0 cm"], ["31 cm", "10 cm"])],
            r"openings\[0\] reaches x = 121 cm, but the wall 'front' ends at 120 cm",
        ),
        (
            [opening("left", ["0 cm", "45 cm"], ["10 cm", "10 cm"])],
            r"openings\[0\] reaches z = 55 cm, but the wall 'left' ends at 50 cm",
        ),
        (
            [
                opening("floor", ["0 cm", "0 cm"], ["20 cm", "20 cm"]),
                opening("back", ["0 cm", "0 cm"], ["20 cm", "20 cm"]),
                opening("floor", ["10 cm", "19 cm"], ["20 cm", "20 cm"]),
            ],
            r"openings\[2\] and openings\[0\] overlap on the wall 'floor'",
        ),
        ([opening("front", ["-1 cm", "0 cm"], ["10 cm", "10 cm"])], "greater than or equal to 0"),
        ([opening("door", ["1 cm", "0 cm"], ["10 cm", "10 cm"])], "'floor', 'ceiling', 'front'"),
    ],
)
def test_openings_that_do_not_fit_are_refused(openings: list[dict[str, Any]], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        box(*openings)


def test_openings_on_different_walls_may_have_the_same_coordinates() -> None:
    same = (["0 cm", "0 cm"], ["20 cm", "20 cm"])
    assert len(box(opening("floor", *same), opening("ceiling", *same)).openings) == 2


def test_examples_of_the_manual_pages(tmp_path: Path) -> None:
    box_mm().export(tmp_path / "room.stl")
    context = {"folder": str(tmp_path)}
    by_size, by_mesh = (
        Enclosure.model_validate(example["enclosure"], context=context) for example in examples(Enclosure)
    )
    assert by_size.surface_names == WALLS
    assert [surface.name for surface in by_mesh.surfaces(0.1)] == ["floor", "ceiling", "walls"]
    (walls,) = examples(Walls)
    assert Walls.model_validate(walls["enclosure"]["walls"]).law("floor") == "sand-dry"
    (cut,) = examples(Opening)
    assert Opening.model_validate(cut["enclosure"]["openings"][0]).wall == "ceiling"


@pytest.mark.parametrize("page", [Enclosure, Opening, Walls])
def test_page_explains_every_key(page: type[Enclosure | Opening | Walls]) -> None:
    explained = {line.split()[0] for line in (page.__doc__ or "").splitlines() if line.strip()}
    assert set(page.model_fields) - explained == set()
