"""Mesh files, good and bad, written here by an independent library or by hand."""

from pathlib import Path

import numpy as np
import pytest
import trimesh
from pydantic import ValidationError

from sim.furniture.imported import Imported, read_mesh, rotation
from sim.geometry.closed import is_watertight, signed_volume
from tests.unit.furniture.part_specs import part

BOX_MM = (120.0, 60.0, 40.0)
NAN, INFINITE = b"\x00\x00\xc0\x7f", b"\x00\x00\x80\x7f"
SQUARE = "v 0 0 0\nv 50 0 0\nv 50 50 0\nv 0 50 0\n"


def box_mm() -> trimesh.Trimesh:
    return trimesh.creation.box(BOX_MM)


def imported(path: Path, **keys: object) -> Imported:
    found = part({"kind": "mesh", "file": path.name, **keys}, path.parent)
    assert isinstance(found, Imported)
    return found


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply"])
def test_files_without_a_unit_take_the_scenes(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"box.{suffix}"
    box_mm().export(path)
    (surface,) = imported(path, unit="mm").surfaces(1.0)
    np.testing.assert_allclose(surface.mesh.bounds, [[-0.06, -0.03, -0.02], [0.06, 0.03, 0.02]], rtol=1e-6)
    assert is_watertight(surface.mesh)
    np.testing.assert_allclose(signed_volume(surface.mesh), 0.12 * 0.06 * 0.04, rtol=1e-6)
    assert surface.closed


def test_text_stl_is_read_too_in_capitals_and_with_any_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "box.stl"
    box_mm().export(path, file_type="stl_ascii")
    text = path.read_text()
    for changed in (text, text.upper(), text.replace("\n", "\r\n")):
        path.write_bytes(changed.encode())
        assert read_mesh(path, "mm").watertight
    path.write_text(text.upper()[: len(text) // 2])
    with pytest.raises(ValueError, match="states 6 polygons, but no triangle could be read: it is cut off"):
        read_mesh(path, "mm")


def test_glb_is_in_metres_and_its_parts_are_where_the_file_puts_them(tmp_path: Path) -> None:
    scene = trimesh.Scene()
    scene.add_geometry(trimesh.creation.box((0.1, 0.1, 0.1)))
    scene.add_geometry(
        trimesh.creation.box((0.1, 0.1, 0.1)),
        transform=trimesh.transformations.translation_matrix([0.3, 0.0, 0.0]),
    )
    scene.export(tmp_path / "two.glb")
    found = read_mesh(tmp_path / "two.glb", None)
    np.testing.assert_allclose(found.mesh.bounds, [[-0.05, -0.05, -0.05], [0.35, 0.05, 0.05]], rtol=1e-6)
    assert found.watertight
    assert len(found.mesh.faces) == 24


def test_patches_are_of_about_the_asked_size_though_the_triangles_are_large(tmp_path: Path) -> None:
    path = tmp_path / "box.stl"
    box_mm().export(path)
    (surface,) = imported(path, unit="mm").surfaces(0.02)
    assert surface.patches is not None
    areas = np.bincount(surface.patches, weights=surface.mesh.areas)
    np.testing.assert_allclose(areas.sum(), 2 * (0.12 * 0.06 + 0.12 * 0.04 + 0.06 * 0.04), rtol=1e-6)
    assert 0.4 * 0.02**2 < np.median(areas) < 2.5 * 0.02**2
    assert areas.max() < 4.0 * 0.02**2


def test_scale_turn_and_place_come_in_that_order(tmp_path: Path) -> None:
    path = tmp_path / "box.stl"
    box_mm().export(path)
    (surface,) = imported(
        path, unit="mm", scale=2.0, turn=["0 deg", "0 deg", "90 deg"], at=["1 m", "2 m", "3 m"]
    ).surfaces(1.0)
    np.testing.assert_allclose(surface.mesh.bounds, [[0.94, 1.88, 2.96], [1.06, 2.12, 3.04]], rtol=1e-6)


@pytest.mark.parametrize(
    ("turn", "start", "end"),
    [
        ((90, 0, 0), (0, 1, 0), (0, 0, 1)),  # what was y is up: a file with y up stands
        ((0, 90, 0), (0, 0, 1), (1, 0, 0)),
        ((0, 0, 90), (1, 0, 0), (0, 1, 0)),
        ((90, 0, 90), (0, 0, 1), (1, 0, 0)),  # by x to -y, then by z to x
        ((0, 90, 90), (1, 0, 0), (0, 0, -1)),
    ],
)
def test_turns_go_about_x_then_y_then_z(
    turn: tuple[float, float, float], start: tuple[float, ...], end: tuple[float, ...]
) -> None:
    x, y, z = np.deg2rad(turn).tolist()
    np.testing.assert_allclose(rotation((x, y, z)) @ start, end, atol=1e-15)


def test_description_tells_triangles_size_and_whether_it_is_closed(tmp_path: Path) -> None:
    path = tmp_path / "box.stl"
    box_mm().export(path)
    assert imported(path, unit="mm").description() == "box.stl: 12 triangles, 0.12 x 0.06 x 0.04 m, watertight"


def test_open_mesh_is_a_sheet_and_said_to_be(tmp_path: Path) -> None:
    shape = box_mm()
    shape.update_faces(np.arange(12) != 3)
    shape.export(tmp_path / "open.stl")
    spec = imported(tmp_path / "open.stl", unit="mm")
    assert spec.description() == "open.stl: 11 triangles, 0.12 x 0.06 x 0.04 m, not watertight"
    assert not spec.surfaces(0.05)[0].closed


def test_inside_out_body_is_turned_and_said_to_be(tmp_path: Path) -> None:
    shape = box_mm()
    shape.invert()
    shape.export(tmp_path / "inverted.ply")
    found = read_mesh(tmp_path / "inverted.ply", "mm")
    assert signed_volume(found.mesh) > 0.0
    assert found.note().endswith("watertight, fronts faced inward and were turned")


def test_degenerate_and_doubled_triangles_are_counted(tmp_path: Path) -> None:
    text = SQUARE + "f 1 2 3\nf 1 3 4\nf 3 2 1\nf 1 1 2\n"
    (tmp_path / "odd.obj").write_text(text)
    found = read_mesh(tmp_path / "odd.obj", "mm")
    assert (len(found.mesh.faces), found.degenerate, found.doubled) == (3, 1, 1)
    assert "1 triangle without area left out, 1 triangle given twice" in found.note()


def test_triangles_that_face_different_ways_are_said_to(tmp_path: Path) -> None:
    (tmp_path / "mixed.obj").write_text(SQUARE + "f 1 2 3\nf 1 4 3\n")
    assert "fronts of neighbouring triangles differ" in read_mesh(tmp_path / "mixed.obj", "mm").note()


def broken_file(kind: str, folder: Path) -> Path:
    box_mm().export(folder / "good.stl")
    good = (folder / "good.stl").read_bytes()
    contents = {
        "empty.stl": b"",
        "short.stl": b"solid",
        "garbage.stl": b"hello world " * 30,
        "cut off.stl": good[:300],
        "no triangles.stl": bytes(84),
        "nan.stl": good[:96] + NAN + good[100:],
        "inf.stl": good[:96] + INFINITE + good[100:],
        "garbage.obj": b"hello world\n" * 30,
        "nan.obj": b"v nan 0 0\nv 50 0 0\nv 50 50 0\nf 1 2 3\n",
        "beyond.obj": b"v 0 0 0\nv 50 0 0\nv 50 50 0\nf 1 2 9\n",
        "flat.obj": b"v 0 0 0\nv 50 0 0\nv 90 0 0\nf 1 2 3\n",
        "garbage.ply": b"hello world " * 30,
        "garbage.glb": b"hello world " * 30,
    }
    path = folder / kind
    path.write_bytes(contents[kind])
    return path


@pytest.mark.parametrize(
    ("kind", "message"),
    [
        ("empty.stl", "'empty.stl' is empty"),
        ("short.stl", "too short for an STL file|cannot be read as a mesh"),
        ("garbage.stl", "cut off or no STL file|cannot be read as a mesh"),
        ("cut off.stl", "'cut off.stl' says 12 triangles, which takes 684 bytes, but has 300"),
        ("no triangles.stl", "holds no triangles"),
        ("nan.stl", "has 1 triangle with a coordinate that is not a finite number"),
        ("inf.stl", "has 1 triangle with a coordinate that is not a finite number"),
        ("garbage.obj", "holds no triangles"),
        ("nan.obj", "has 1 triangle with a coordinate that is not a finite number"),
        ("beyond.obj", "'beyond.obj' cannot be read as a mesh"),
        ("flat.obj", "holds only triangles without area"),
        ("garbage.ply", "'garbage.ply' cannot be read as a mesh"),
        ("garbage.glb", "'garbage.glb' cannot be read as a mesh"),
    ],
)
def test_broken_files_are_refused_with_one_line(kind: str, message: str, tmp_path: Path) -> None:
    path = broken_file(kind, tmp_path)
    with pytest.raises(ValueError, match=message) as caught:
        read_mesh(path, None if path.suffix == ".glb" else "mm")
    assert "\n" not in str(caught.value)


def test_triangles_that_the_reader_drops_are_missed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "box.stl"
    box_mm().export(path)
    whole = trimesh.load_scene

    def lossy(*arguments: object, **options: object) -> trimesh.Scene:
        scene = whole(*arguments, **options)
        next(iter(scene.geometry.values())).update_faces(np.arange(12) > 0)
        return scene

    monkeypatch.setattr(trimesh, "load_scene", lossy)
    with pytest.raises(ValueError, match="states 12 polygons, but only 11 triangles could be read"):
        read_mesh(path, "mm")


@pytest.mark.parametrize(
    ("extents", "unit", "message"),
    [
        ((1200.0, 600.0, 600.0), "m", "is 1200 x 600 x 600 m, outside 0.1 mm to 100 m; the unit is more likely 'mm'$"),
        ((0.05, 0.03, 0.02), "mm", "is 0.05 x 0.03 x 0.02 mm.*more likely 'm'"),
        ((47.0, 24.0, 24.0), "ft", None),  # 14 m: odd, but nobody can know
        ((400.0, 200.0, 200.0), "ft", "more likely 'mm' or 'cm'"),
        ((1e9, 1e9, 1e9), "mm", "check 'unit' and 'scale'"),
    ],
)
def test_a_unit_that_makes_an_absurd_size_is_refused_with_a_guess(
    extents: tuple[float, float, float], unit: str, message: str | None, tmp_path: Path
) -> None:
    path = tmp_path / "box.ply"
    trimesh.creation.box(extents).export(path)
    if message is None:
        assert read_mesh(path, unit).watertight
    else:
        with pytest.raises(ValueError, match=message):
            read_mesh(path, unit)


@pytest.mark.parametrize(
    ("name", "keys", "message"),
    [
        ("box.stl", {}, "'unit' is missing: a .stl file does not say it; write unit = 'mm'"),
        ("box.glb", {"unit": "mm"}, "'unit' must be left out for a .glb file"),
        ("box.txt", {"unit": "mm"}, "'box.txt' is no mesh file that can be read; use one of .stl, .obj, .ply, .glb"),
        ("box.gltf", {}, "has its numbers in other files; export it as .glb, which is one file"),
        ("box.stl", {"unit": "yd"}, "'mm', 'cm', 'm', 'in' or 'ft'"),
        ("box.stl", {"unit": "mm", "scale": 0.0}, "greater than 0"),
    ],
)
def test_specs_that_cannot_be_right_are_refused(
    name: str, keys: dict[str, object], message: str, tmp_path: Path
) -> None:
    (tmp_path / name).write_bytes(b"anything")
    with pytest.raises(ValidationError, match=message):
        imported(tmp_path / name, **keys)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValidationError, match=r"file 'missing\.stl' not found"):
        imported(tmp_path / "missing.stl", unit="mm")
