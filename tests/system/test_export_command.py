"""``vivray export``: files that other programs open, with the numbers and where they come from; nothing is lost."""

import csv
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import pyvista as pv
import trimesh

from sim.analysis.selection import Selection
from sim.tally.result import Result
from tests.support.synthetic_result import TUBE, make_result, terrarium_patches, tube_field

ROOT = Path(__file__).resolve().parents[2]
LAMPS = (("tube", TUBE, 0.75), ("coil", TUBE, 0.25))


@pytest.fixture(scope="module")
def result() -> Result:
    return make_result(terrarium_patches(), tube_field(0.8), replicates=8, lamps=LAMPS)


@pytest.fixture
def saved(result: Result, tmp_path: Path) -> Path:
    path = tmp_path / "result.npz"
    result.save(path)
    return path


def export(saved: Path, kind: str, *options: object) -> tuple[int, str, list[str]]:
    command = [sys.executable, "-m", "sim", "export", str(saved), "--to", kind, *map(str, options)]
    child = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return child.returncode, child.stdout.strip(), child.stderr.splitlines()


def written(saved: Path, kind: str, *options: object) -> Path:
    path = saved.with_suffix(f".{kind}")
    assert (0, str(path), []) == export(saved, kind, *options)
    return path


def test_one_mesh_carries_every_number_and_its_origin(saved: Path, result: Result) -> None:
    mesh = pv.read(written(saved, "vtp", "--level", "coil=50%"))
    rows = np.asarray(mesh.cell_data["receiver"])
    read = rows >= 0
    for name in ("uvi", "uvb-320", "actinic"):
        found = Selection(result, name, (1.0, 0.5)).found
        np.testing.assert_allclose(mesh.cell_data[name][read], found.mean[rows[read]], rtol=1e-12)
        np.testing.assert_allclose(mesh.cell_data[f"{name} standard error"][read], found.se[rows[read]], rtol=1e-12)
        assert np.all(np.isnan(mesh.cell_data[name][~read]))
    assert sum(group.count for group in result.of_kind("surface")) == read.sum()
    np.testing.assert_allclose(mesh.cell_centers().points[read], result.centre[rows[read]], atol=1e-6)
    names = mesh.field_data["surface names"][np.asarray(mesh.cell_data["surface"])]
    assert "ledge.top" == names[list(rows).index(result.group("surface", "ledge.top").first)]
    told = json.loads(mesh.field_data["metadata"][0])
    assert ("0123456789abcdef", 1, {"tube": 1.0, "coil": 0.5}) == (told["digest"], told["seed"], told["lamp_levels"])
    assert ("1", "W/m2") == (told["units"]["uvi"], told["units"]["uvb-320"])


def test_blocks_are_the_surfaces_by_name(saved: Path, result: Result) -> None:
    blocks = pv.read(written(saved, "vtm", "--quantity", "uvb-315"))
    floor = blocks["map: floor"]
    group = result.group("surface", "floor")
    found = Selection(result, "uvb-315").found
    np.testing.assert_allclose(floor.cell_data["uvb-315"], found.mean[group.rows], rtol=1e-12)
    assert "0123456789abcdef" == json.loads(floor.field_data["metadata"][0])["digest"]
    assert "lamp: tube" in blocks.keys()  # a list of blocks that has names


def test_a_model_opens_with_its_colours_numbers_and_legend(saved: Path, result: Result) -> None:
    path = written(saved, "glb")
    scene = trimesh.load(path)
    floor = scene.geometry["floor"]
    group, found = result.group("surface", "floor"), Selection(result).found
    rows = floor.vertex_attributes["_RECEIVER"].ravel().astype(int)
    assert set(range(group.first, group.first + group.count)) == set(rows)
    np.testing.assert_allclose(floor.vertex_attributes["_VALUE"].ravel(), found.mean[rows], rtol=1e-6)
    np.testing.assert_allclose(floor.vertex_attributes["_STANDARD_ERROR"].ravel(), found.se[rows], rtol=1e-6)
    # Up is y there; every corner of a cell is within half a cell of its middle.
    turned = np.column_stack([floor.vertices[:, 0], -floor.vertices[:, 2], floor.vertices[:, 1]])
    assert np.abs(turned - result.centre[rows]).max() == pytest.approx(0.025, abs=1e-6)
    legend = scene.metadata["legend"]
    assert ("UV index", "1", "cividis", "_VALUE") == tuple(
        legend[key] for key in ("title", "unit", "colour_map", "attribute")
    )
    assert legend["range"][1] >= found.mean[result.group("reach", "floor").rows].max()
    assert "0123456789abcdef" == scene.metadata["digest"]


def test_a_model_has_the_colours_of_the_bar_in_linear_light(saved: Path, result: Result) -> None:
    mesh = pv.read(written(saved, "glb", "--lamp", "tube"))
    leaves = [block for block in mesh.recursive_iterator() if block is not None]
    top = trimesh.load(saved.with_suffix(".glb")).metadata["legend"]["range"][1]
    import matplotlib as mpl

    seen = 0
    for leaf in leaves:
        if "_VALUE" not in leaf.point_data:
            continue
        bar = mpl.colormaps["cividis"](np.clip(np.asarray(leaf.point_data["_VALUE"]).ravel() / top, 0, 1))[:, :3]
        # IEC 61966-2-1, the inverse of what a screen does.
        linear = np.where(bar <= 0.04045, bar / 12.92, ((bar + 0.055) / 1.055) ** 2.4)
        np.testing.assert_allclose(np.asarray(leaf.point_data["COLOR_0"])[:, :3], linear, atol=0.02)
        seen += leaf.n_points
    assert 4 * sum(group.count for group in result.of_kind("surface")) == seen


def test_tables_are_those_of_the_dimmed_lamps(saved: Path, result: Result) -> None:
    with written(saved, "csv", "--level", "tube=0").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    found = Selection(result, "uvi", (0.0, 1.0)).found
    np.testing.assert_allclose([float(row["uvi"]) for row in rows], found.mean, rtol=1e-6)
    np.testing.assert_allclose([float(row["uvi_se"]) for row in rows], found.se, rtol=1e-6)
    told = json.loads(written(saved, "json", "--level", "tube=0").read_text(encoding="utf-8"))
    assert {"tube": 0.0, "coil": 1.0} == told["lamp_levels"]
    whole = json.loads(export_text(saved))
    assert told["zones"][0]["uvi_mean"] == pytest.approx(0.25 * whole["zones"][0]["uvi_mean"], rel=1e-5)


def export_text(saved: Path) -> str:
    path = saved.with_name("whole.json")
    assert 0 == export(saved, "json", "--out", path)[0]
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", ["vtp", "vtm", "glb", "csv", "json"])
def test_a_file_that_is_there_stays(saved: Path, kind: str) -> None:
    path = saved.with_suffix(f".{kind}")
    path.write_text("mine")
    code, out, lines = export(saved, kind)
    assert (2, "", [f"{path} is there already; name another file, or give --force to replace it"]) == (code, out, lines)
    assert "mine" == path.read_text()
    assert (0, str(path), []) == export(saved, kind, "--force")
    assert path.read_bytes() != b"mine"


def test_a_folder_with_other_things_is_never_taken_for_blocks(saved: Path) -> None:
    folder = saved.with_suffix("")
    folder.mkdir()
    (folder / "result_0.vtp").write_text("of an earlier export")
    (folder / "diary.txt").write_text("mine")
    code, out, lines = export(saved, "vtm", "--force")
    assert (2, "") == (code, out)
    assert [f"{folder}, where the blocks would go, holds other things; name another file"] == lines
    (folder / "diary.txt").unlink()
    assert 2 == export(saved, "vtm")[0]
    assert 0 == export(saved, "vtm", "--force")[0]
    assert "of an earlier export" != (folder / "result_0.vtp").read_text()


@pytest.mark.parametrize(
    ("kind", "options", "told"),
    [
        ("png", (), "'png' is not one of 'vtp', 'vtm', 'glb'"),
        ("csv", ("--out", "table.txt"), "table.txt does not end in .csv"),
        ("vtp", ("--out", "mesh.stl"), "mesh.stl does not end in .vtp"),
        ("csv", ("--lamp", "bulb"), "no lamp called 'bulb' in this result; there are: tube, coil"),
    ],
)
def test_bad_input_ends_in_one_line(saved: Path, kind: str, options: tuple[str, ...], told: str) -> None:
    code, out, lines = export(saved, kind, *options)
    assert (2, "") == (code, out)
    assert told in lines[-1]
