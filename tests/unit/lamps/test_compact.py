"""Compact lamps: limbs and coils."""

import numpy as np
import pytest

from sim.geometry.closed import is_watertight, winding_number
from sim.geometry.mesh import FloatArray, Mesh
from sim.lamps import compact
from sim.lamps.lamp import LampShape
from tests.unit.lamps.lamp_specs import HELIX, LIMBS, lamp, refusal
from tests.unit.lamps.silhouette import silhouette_irradiance


def limb_vertices(body: Mesh, limbs: int) -> FloatArray:
    return body.vertices.reshape(limbs, -1, 3)


@pytest.mark.parametrize(("limbs", "ring"), [(1, None), (2, "20 mm"), (4, "28 mm"), (6, "40 mm")])
def test_lit_area_of_limbs_is_side_and_tip(limbs: int, ring: str | None) -> None:
    expected = limbs * (2.0 * np.pi * 0.006 * 0.1 + np.pi * 0.006**2)
    assert lamp(LIMBS, limbs=limbs, ring=ring).shape().lit_area == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("keys", "reach", "dark"),
    [
        # Four dark limbs of 3 cm, four caps.
        ({"dark_base": "3 cm"}, 0.03, 4 * (2 * np.pi * 0.006 * 0.03 + np.pi * 0.006**2)),
        # A housing of 3 cm with two ends, and the four caps on it.
        (
            {"dark_base": "3 cm", "base_radius": "25 mm"},
            0.03 + 6e-5,
            2 * np.pi * 0.025 * (0.03 + 0.025) + 4 * np.pi * 0.006**2,
        ),
        # Two bridges of 2 mm radius over what is left of 28 mm / sqrt 2 between limbs of 6 mm, with two ends each.
        (
            {"bridge": "2 mm"},
            0.0,
            2 * (2 * np.pi * 0.002 * (0.028 / np.sqrt(2) - 2 * 0.006 * 1.0025) + 2 * np.pi * 0.002**2)
            + 4 * np.pi * 0.006**2,
        ),
    ],
)
def test_dark_parts_of_limbs(keys: dict[str, object], reach: float, dark: float) -> None:
    bare, whole = lamp(LIMBS).shape(), lamp(LIMBS, **keys).shape()
    assert whole.lit_area == pytest.approx(bare.lit_area, rel=1e-12)
    assert whole.body.areas[~whole.emits].sum() == pytest.approx(dark, rel=3e-3)
    behind = ((whole.start - whole.body.vertices) @ whole.facing).max()
    assert behind == pytest.approx(reach, abs=1e-9)
    lit = whole.body.vertices[whole.body.faces[whole.emits]]
    along = (lit - whole.start) @ whole.facing
    assert (0.0, 0.1) == (pytest.approx(along.min(), abs=1e-9), pytest.approx(along.max()))
    assert is_watertight(whole.body)
    assert bare.centre.tolist() == whole.centre.tolist()


@pytest.mark.parametrize(("limbs", "ring_mm"), [(2, 13), (4, 17.2), (6, 40)])
def test_bridges_touch_no_limb(limbs: int, ring_mm: float) -> None:
    bare = lamp(LIMBS, limbs=limbs, ring=f"{ring_mm} mm").shape().body
    whole = lamp(LIMBS, limbs=limbs, ring=f"{ring_mm} mm", bridge="3 mm").shape().body
    bridges = whole.vertices[len(bare.vertices) :]
    assert max(abs(winding_number(bare, corner)) for corner in bridges) < 0.5
    limb = bare.vertices[: len(bare.vertices) // limbs]
    axis = limb.mean(axis=0)
    # Square to the lamp's axis, which runs along y: nothing of a bridge is within a limb's radius of its axis.
    assert np.hypot(*(bridges - axis)[:, [0, 2]].T).min() > 0.006 * 1.001


def test_base_is_dark_and_tip_lit() -> None:
    shape = lamp(LIMBS).shape()
    along = shape.body.normals @ shape.facing
    assert shape.emits[along > 0.5].all()
    assert not shape.emits[along < -0.5].any()
    assert shape.emits[np.abs(along) < 0.5].all()


@pytest.mark.parametrize(("limbs", "ring_mm"), [(2, 12.06), (3, 13.93), (4, 17.06), (6, 24.12), (12, 46.6)])
def test_limbs_do_not_touch_on_the_tightest_ring(limbs: int, ring_mm: float) -> None:
    shape = lamp(LIMBS, limbs=limbs, ring=f"{ring_mm} mm").shape()
    first, second = limb_vertices(shape.body, limbs)[:2]
    gap = np.linalg.norm(first[:, None] - second[None], axis=-1).min()
    assert gap > 0.0
    # All of the second limb lies beyond the plane midway between the two axes, all of the first before it.
    between = (second.mean(axis=0) - first.mean(axis=0)) / np.linalg.norm(second.mean(axis=0) - first.mean(axis=0))
    middle = 0.5 * (first.mean(axis=0) + second.mean(axis=0))
    assert ((first - middle) @ between).max() < 0.0 < ((second - middle) @ between).min()


def test_limbs_stand_on_the_ring_from_base_to_tip() -> None:
    shape = lamp(LIMBS, turn="30 deg").shape()
    centres = limb_vertices(shape.body, 4).mean(axis=1)
    offset = centres - shape.centre
    assert np.linalg.norm(offset, axis=1) == pytest.approx(0.014, rel=1e-9)
    # The first limb: 30 deg from +x, anticlockwise seen against the facing (+y), so towards -z.
    assert offset[0] == pytest.approx([0.014 * np.cos(np.pi / 6), 0.0, -0.014 * np.sin(np.pi / 6)], abs=1e-9)
    assert (shape.end - shape.start).tolist() == pytest.approx([0.0, 0.1, 0.0])


def test_first_limb_stands_towards_y_where_the_lamp_runs_along_x() -> None:
    shape = lamp(LIMBS, facing=[1, 0, 0]).shape()
    assert limb_vertices(shape.body, 4).mean(axis=1)[0] - shape.centre == pytest.approx([0, 0.014, 0], abs=1e-12)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"limbs": 1}, "one limb stands on the axis; leave 'ring' out"),
        ({"ring": None}, "4 limbs need 'ring', the diameter of the circle through their centres"),
        ({"ring": "16 mm"}, "on a ring of 16 mm 4 limbs of 6 mm radius touch; it must be 17.06 mm or more"),
        (
            {"limb_length": "5 mm"},
            "limb_radius 6 mm is not less than limb_length, 5 mm; is it a diameter, or in another unit?",
        ),
        ({"limbs": 0}, "Input should be greater than or equal to 1"),
        ({"turns": 3}, "Extra inputs are not permitted"),
        ({"form": None}, "Unable to extract tag using discriminator 'form'"),
    ],
)
def test_refusals_of_limbs(changes: dict[str, object], message: str) -> None:
    assert refusal(LIMBS, **changes) == message


@pytest.mark.parametrize(("turns", "height"), [(0.5, 0.01), (1.3, 0.05), (3.5, 0.06), (5.0, 0.06)])
def test_lit_area_of_a_coil_is_circumference_times_length(turns: float, height: float) -> None:
    length = np.hypot(height, 2.0 * np.pi * 0.022 * turns)
    shape = lamp(HELIX, turns=turns, height=f"{height} m").shape()
    assert shape.lit_area == pytest.approx(2.0 * np.pi * 0.005 * length, rel=1e-9)


def test_ends_of_a_coil_are_dark_and_square_to_it() -> None:
    shape = lamp(HELIX).shape()
    dark = shape.body.normals[~shape.emits]
    assert len(dark) == 2 * compact.COIL_SIDES
    # Down the coil: it starts at +x and, right-handed about its facing (-z), sets off towards -y.
    start = -np.array([0.0, -2.0 * np.pi * 3.5 * 0.022, -0.06])
    assert dark[0] == pytest.approx(start / np.linalg.norm(start), abs=1e-3)


def test_coil_is_right_handed_from_base_to_tip() -> None:
    shape = lamp(HELIX, turns=1, facing=[0, 0, 1]).shape()
    rings = shape.body.vertices[:-2].reshape(-1, compact.COIL_SIDES, 3).mean(axis=1)
    angle = np.unwrap(np.arctan2(rings[:, 1], rings[:, 0]))
    assert np.all(np.diff(angle) > 0.0)
    assert np.all(np.diff(rings[:, 2]) > 0.0)
    assert (angle[-1] - angle[0]) == pytest.approx(2.0 * np.pi, rel=1e-9)
    assert (rings[0, 2], rings[-1, 2]) == pytest.approx((0.0, 0.06), abs=1e-9)


@pytest.mark.parametrize("direction", [(1, 0, 0), (0.6, 0.8, 0), (0, 0, -1), (0.8, 0, -0.6)])
def test_coarse_coil_irradiates_like_a_fine_one(
    direction: tuple[float, float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    keys = HELIX | {"turns": 2, "height": "3 cm"}
    coarse = lamp(keys).shape()
    monkeypatch.setattr(compact, "COIL_SIDES", 96)
    monkeypatch.setattr(compact, "COIL_STEPS", 120)
    fine = lamp(keys).shape()
    outward = np.array(direction)
    point = coarse.centre + 4.0 * coarse.radius * outward
    found, expected = (silhouette_irradiance(shape.body, point, -outward, lines=250) for shape in (coarse, fine))
    assert expected == pytest.approx(found, rel=1e-3)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"coil_radius": "5 mm"},
            "coil_radius 5 mm must exceed tube_radius, 5 mm, or the coil closes over its axis",
        ),
        (
            {"height": "30 mm"},
            "neighbouring turns touch: their centre lines are 8.555 mm apart and the tube is 10 mm thick; "
            "use fewer turns, more height or a thinner tube",
        ),
        ({"turns": 0.1}, "Input should be greater than or equal to 0.5"),
    ],
)
def test_refusals_of_coils(changes: dict[str, object], message: str) -> None:
    assert refusal(HELIX, **changes) == message


def overlapping_corners(shape: LampShape) -> int:
    """Count corners of a coil's outline that, moved outward by 0.2 % of the tube's radius, lie within the coil."""
    rings = shape.body.vertices[:-2].reshape(-1, compact.COIL_SIDES, 3)[1:-1:7]
    middles = rings.mean(axis=1, keepdims=True)
    outside = (middles + 1.002 * (rings - middles)).reshape(-1, 3)
    return sum(winding_number(shape.body, point) > 0.5 for point in outside)


def test_tightest_coil_keeps_its_turns_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    # A tube 10 mm thick needs 10.05 mm between the centre lines of its turns, measured square to their slope.
    assert refusal(HELIX, turns=3, height="30.1 mm").startswith("neighbouring turns touch")
    assert overlapping_corners(lamp(HELIX, turns=3, height="30.35 mm").shape()) == 0
    monkeypatch.setattr(compact, "LEAST_GAP", -0.1)
    assert overlapping_corners(lamp(HELIX, turns=3, height="29.5 mm").shape()) > 10
