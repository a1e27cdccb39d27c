"""The reflector lamp."""

from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from sim.lamps.spot import Spot, read_distribution
from tests.support.photometric_files import cosine, eulumdat, lm63, lopsided, values, written
from tests.unit.lamps.lamp_specs import COMMON, LAMP, SPOT, lamp, refusal

FINE = [2.5 * step for step in range(37)]
COSINE = lm63(values(cosine, FINE, [0.0]), FINE)


def spot(folder: Path, name: str, text: str, **changes: object) -> Spot:
    written(folder, name, text)
    keys = {key: value for key, value in SPOT.items() if key != "beam"} | {"distribution": name} | changes
    found = LAMP.validate_python({k: v for k, v in keys.items() if v is not None}, context={"folder": folder})
    assert isinstance(found, Spot)
    return found


def refused(folder: Path, name: str, text: str, **changes: object) -> str:
    with pytest.raises(ValidationError) as caught:
        spot(folder, name, text, **changes)
    return "; ".join(str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors())


def test_aperture_has_the_discs_area_and_looks_along_the_facing() -> None:
    for depth in (None, "5 cm"):
        shape = lamp(SPOT, depth=depth, facing=[1, 2, -2]).shape()
        assert shape.lit_area == pytest.approx(np.pi * 0.045**2, rel=2e-3)  # a prism keeps its perimeter, not its area
        assert shape.body.normals[shape.emits] == pytest.approx(np.tile(shape.facing, (int(shape.emits.sum()), 1)))
        assert shape.body.corners[shape.emits].reshape(-1, 3) @ shape.facing == pytest.approx(
            shape.centre @ shape.facing
        )
        assert shape.open_body == (depth is None)


def test_half_planes_stand_as_the_file_means_them() -> None:
    """Seen from behind, C runs anticlockwise: for a lamp that faces down, C 0 to +x and C 90 to +y."""
    axes = lamp(SPOT).shape().axes
    assert axes == pytest.approx(np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, -1.0]]))
    sideways = lamp(SPOT, facing=[1, 0, 0]).shape().axes
    assert sideways is not None
    assert sideways[0] == pytest.approx([0.0, 1.0, 0.0])


def test_turn_is_anticlockwise_seen_against_the_facing(tmp_path: Path) -> None:
    """From below, looking up at a lamp that faces down, a quarter anticlockwise takes +x to -y."""
    axes = spot(tmp_path, "a.ies", COSINE, turn="90 deg").shape().axes
    assert axes == pytest.approx(np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, -1.0]]), abs=1e-12)


def test_both_formats_give_one_law(tmp_path: Path) -> None:
    planes = [15.0 * step for step in range(24)]
    table = values(lopsided, FINE, [*planes, 360.0])
    one = spot(tmp_path, "a.ies", lm63(table, FINE, [*planes, 360.0])).directions
    other = spot(tmp_path, "a.LDT", eulumdat(table[:-1], FINE, planes, symmetry=0)).directions
    assert one.intensity == pytest.approx(other.intensity, rel=1e-9)


def test_numbers_of_a_file_as_watts_per_steradian(tmp_path: Path) -> None:
    found = spot(tmp_path, "a.ies", COSINE, file_unit="W/sr", output=None)
    assert found.output.radiant == pytest.approx(1000.0 * np.pi, rel=1e-3)
    assert "the numbers of its file are taken as W/sr over the traced wavelengths" in found.notes
    message = "'file_unit' says how strong the lamp is; leave 'output' out, or 'file_unit'"
    assert refused(tmp_path, "a.ies", COSINE, file_unit="W/sr") == message
    alone = {key: value for key, value in SPOT.items() if key != "output"}
    assert refusal(alone, file_unit="W/sr") == "'file_unit' goes with 'distribution', the file whose numbers it means"


def test_light_that_leaves_backwards_is_left_out_and_told(tmp_path: Path) -> None:
    angles = [0.0, 90.0, 180.0]
    found = spot(tmp_path, "a.ies", lm63(np.array([[100.0, 1.0, 0.0]]), angles))
    behind = read_distribution(tmp_path / "a.ies").share_behind
    assert 0.001 < behind < 0.1
    assert f"{behind:.1%} of the light in a.ies leaves backwards and is left out" in found.notes
    assert found.directions.polar[-1] == pytest.approx(0.5 * np.pi)
    told = refused(tmp_path, "a.ies", lm63(np.array([[1.0, 1.0, 1.0]]), angles))
    assert told.startswith("a.ies: 50% of its light leaves at more than 90 deg from straight ahead")


def test_far_field_is_told() -> None:
    assert lamp(SPOT).notes == (
        "its distribution holds from afar: nearer than about 45 cm (5 diameters) its light is approximate",
    )
    assert lamp(COMMON | {"kind": "panel", "corner": ["0 m"] * 3, **EDGES}).notes == ()


EDGES = {"edge_u": ["1 m", "0 m", "0 m"], "edge_v": ["0 m", "1 m", "0 m"]}


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"beam": None},
            "exactly one of 'distribution' (a file) and 'beam' (an angle) says where light goes; found none",
        ),
        ({"turn": "10 deg"}, "'turn' goes with 'distribution'; a beam is the same all round"),
        ({"distribution": "gone.ies"}, "file 'gone.ies' not found (looked in .)"),
    ],
)
def test_refusals(changes: dict[str, object], message: str) -> None:
    assert refusal(SPOT, **changes) == message


def test_both_ways_or_another_kind_of_file_are_refused(tmp_path: Path) -> None:
    assert refused(tmp_path, "a.ies", COSINE, beam="40 deg").endswith("found both")
    told = refused(tmp_path, "a.txt", COSINE)
    assert told == "'a.txt' is no photometric file that can be read; use one of .ies, .ldt"


def test_schema_asks_for_an_output_of_other_lamps_alone() -> None:
    tables = LAMP.json_schema()["$defs"]
    assert "output" in tables["Tube"]["required"]
    assert "output" not in tables["Spot"]["required"]
    assert refusal({key: value for key, value in SPOT.items() if key != "output"}) == "Field required"
