"""Reflectors on lamps and free ones."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from pydantic import TypeAdapter, ValidationError

from sim.geometry.closed import edge_uses, merged
from sim.geometry.mesh import FloatArray, Mesh
from sim.geometry.rectangles import rectangle
from sim.geometry.sweeps import cylinder
from sim.materials.law import Black
from sim.reflectors.base import SIDES, ReflectorBase
from sim.reflectors.curved import Curve, Involute, Parabola
from sim.reflectors.reflector import Facets, Flat, Reflector, Trough, Vee
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import closest_hits
from tests.support.manual import examples

REFLECTOR: TypeAdapter[ReflectorBase] = TypeAdapter(Reflector)
BASIC = {"name": "sheet", "lamp": "tube", "law": {"kind": "mirror", "reflectance": 0.9}}
FLAT = BASIC | {"profile": "flat", "width": "8 cm", "above": "2 cm"}
TROUGH = BASIC | {
    "profile": "trough",
    "width": "9 cm",
    "depth": "3 cm",
    "above": "15 mm",
    "floor_width": "4 cm",
}
PARABOLA = BASIC | {"profile": "parabola", "focus": "3 cm", "width": "12 cm"}
FACETS = BASIC | {"profile": "facets", "points": [["0 cm", "-3 cm"], ["4 cm", "-1 cm"], ["5 cm", "2 cm"]]}
VEE = BASIC | {"profile": "vee", "width": "9 cm", "depth": "4 cm", "above": "2 cm"}
INVOLUTE = BASIC | {"profile": "involute", "radius": "9 mm", "width": "5 cm"}
CURVE = BASIC | {
    "profile": "curve",
    "points": [["-5 cm", "1 cm"], ["-3 cm", "-12 mm"], ["0 cm", "-2 cm"], ["3 cm", "-12 mm"], ["5 cm", "1 cm"]],
}
ASKEW = FACETS | {"points": [["-4 cm", "0 cm"], ["-3 cm", "-3 cm"], ["3 cm", "-3 cm"], ["6 cm", "2 cm"]]}
DISH = PARABOLA | {"sweep": "around"}
DOWN = (0.0, 0.0, -1.0)


@dataclass(frozen=True)
class Body:
    body: Mesh
    start: FloatArray
    end: FloatArray
    facing: FloatArray

    @property
    def centre(self) -> FloatArray:
        return 0.5 * (self.start + self.end)


def tube(
    start: tuple[float, ...] = (0.3, 0.3, 0.5),
    end: tuple[float, ...] = (0.9, 0.3, 0.5),
    facing: tuple[float, ...] = DOWN,
    radius: float = 0.008,
) -> Body:
    ends = np.array(start), np.array(end)
    return Body(cylinder(*ends, radius, 64), *ends, np.array(facing))


def reflector(keys: dict[str, Any], **changes: object) -> ReflectorBase:
    return REFLECTOR.validate_python({key: value for key, value in (keys | changes).items() if value is not None})


def mesh_of(keys: dict[str, Any], shape: Body | None = None, **changes: object) -> Mesh:
    (surface,) = reflector(keys, **changes).surfaces(tube() if shape is None else shape)
    return surface.mesh


def refusal(keys: dict[str, Any], **changes: object) -> str:
    with pytest.raises(ValidationError) as caught:
        reflector(keys, **changes)
    return "; ".join(str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors())


@pytest.mark.parametrize("sweep", ["along", "around"])
@pytest.mark.parametrize("keys", [FLAT, VEE, TROUGH, PARABOLA, FACETS])
@pytest.mark.parametrize("facing", [DOWN, (0.0, 0.6, -0.8), (0.0, 1.0, 0.0)])
def test_fronts_face_the_lamp(keys: dict[str, Any], sweep: str, facing: tuple[float, ...]) -> None:
    lamp = tube((0.57, 0.3, 0.5), (0.63, 0.3, 0.5), facing)
    wide = keys | ({"width": "30 cm"} if keys["profile"] == "trough" else {})
    if keys["profile"] == "facets" or sweep == "around":
        lamp = tube((0.59, 0.3, 0.5), (0.61, 0.3, 0.5), facing)
    mesh = mesh_of(wide, lamp, sweep=sweep)
    middles = mesh.corners.mean(axis=1)
    offset = lamp.centre - middles
    if sweep == "along":
        offset[:, 0] = 0.0  # the axis, not its middle
    assert np.einsum("mk,mk->m", mesh.normals, offset).min() > 0.0


def test_flat_sheet_lies_behind_the_lamp_over_its_length() -> None:
    mesh = mesh_of(FLAT)
    assert mesh.bounds == pytest.approx(np.array([[0.3, 0.26, 0.52], [0.9, 0.34, 0.52]]))
    assert mesh.areas.sum() == pytest.approx(0.6 * 0.08)


def test_length_counts_from_the_lamps_middle() -> None:
    assert mesh_of(FLAT, length="80 cm").bounds[:, 0] == pytest.approx([0.2, 1.0])


def test_facing_of_its_own_and_of_its_lamp() -> None:
    sideways = mesh_of(FLAT, facing=[0, 1, 0])
    assert sideways.bounds[:, 1] == pytest.approx([0.28, 0.28])
    assert mesh_of(FLAT, tube(facing=(0.0, 1.0, 0.0))).bounds == pytest.approx(sideways.bounds)


def test_facing_is_turned_square_to_the_axis() -> None:
    assert mesh_of(FLAT, facing=[1, 0, -1]).bounds == pytest.approx(mesh_of(FLAT).bounds)


def test_trough_area_and_ends() -> None:
    side = np.hypot(0.025, 0.03)
    open_ends, closed = mesh_of(TROUGH), mesh_of(TROUGH, ends=True)
    assert open_ends.areas.sum() == pytest.approx(0.6 * (0.04 + 2.0 * side))
    assert (closed.areas.sum() - open_ends.areas.sum()) == pytest.approx(2.0 * 0.5 * (0.04 + 0.09) * 0.03)


@pytest.mark.parametrize("keys", [VEE, TROUGH, PARABOLA, INVOLUTE, CURVE])
def test_ends_join_the_sheet_and_face_each_other(keys: dict[str, Any]) -> None:
    mesh = mesh_of(keys, ends=True)
    uses, forward = edge_uses(merged(mesh))
    # One ring of open edges, the mouth: two lips and a line across each end.
    assert (4, 2) == (int((uses == 1).sum()), int(uses.max()))
    assert np.all(forward[uses == 2] == 1)
    ends = np.abs(mesh.normals[:, 0]) > 0.5
    toward_middle = (0.6 - mesh.corners.mean(axis=1)[:, 0]) * mesh.normals[:, 0]
    assert np.all(toward_middle[ends] > 0.0)


@pytest.mark.parametrize(("keys", "radius", "area"), [(FLAT, 0.04, np.pi * 0.04**2), (TROUGH, 0.045, None)])
def test_turned_reflector_is_round(keys: dict[str, Any], radius: float, area: float | None) -> None:
    mesh = mesh_of(keys, tube((0.59, 0.3, 0.5), (0.61, 0.3, 0.5)), sweep="around")
    side = np.hypot(0.025, 0.03)
    expected = np.pi * 0.02**2 + np.pi * (0.02 + 0.045) * side if area is None else area
    assert mesh.areas.sum() == pytest.approx(expected, rel=3e-4)
    assert np.hypot(*(mesh.vertices - [0.6, 0.3, 0.0]).T[:2]).max() == pytest.approx(radius, rel=1e-4)


def test_rays_along_the_facing_of_a_dish_come_back_through_the_lamps_centre() -> None:
    lamp = tube((0.595, 0.3, 0.5), (0.605, 0.3, 0.5))
    mesh = mesh_of(PARABOLA, lamp, sweep="around")
    arriving = np.array([0.0, 0.0, 1.0])
    leaving = arriving - 2.0 * (mesh.normals @ arriving)[:, None] * mesh.normals
    foot = mesh.corners.mean(axis=1) - lamp.centre
    miss = np.linalg.norm(np.cross(leaving, foot), axis=1)
    facet = np.linalg.norm(np.diff(mesh.corners, axis=1), axis=2).max(axis=1)
    assert np.all(miss <= 0.5 * facet + 1e-4 * 0.12)
    assert len(mesh.faces) % SIDES == 0


def test_surface_carries_laws_and_is_not_measured() -> None:
    (surface,) = reflector(FLAT).surfaces(tube())
    assert ("sheet", False, False) == (surface.name, surface.measured, surface.closed)
    assert surface.law.kind == "mirror"  # type: ignore[union-attr]  # the law given above
    assert surface.back_law == Black(kind="black")
    assert surface.tangent == pytest.approx([1.0, 0.0, 0.0])


def leaving_rays(keys: dict[str, Any], lamp: Body) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return openings, and start and direction of rays off the front of a sheet that do not meet it again."""
    made = reflector(keys)
    (surface,) = made.surfaces(lamp)
    mesh, rng = surface.mesh, np.random.default_rng(4)
    rows = rng.choice(len(mesh.faces), 4_000, p=mesh.areas / mesh.areas.sum())
    weights = rng.dirichlet([1.0, 1.0, 1.0], len(rows))
    start = np.einsum("nc,nci->ni", weights, mesh.corners[rows]) + 1e-9 * mesh.normals[rows]
    towards = rng.standard_normal((len(rows), 3))
    towards *= np.sign((towards * mesh.normals[rows]).sum(axis=1))[:, None]
    towards /= np.linalg.norm(towards, axis=1)[:, None]
    distance, triangle = np.full(len(rows), np.inf), np.full(len(rows), -1)
    closest_hits(build_tree(mesh.corners), start, towards, distance, triangle)
    return made.openings(lamp), start[triangle < 0], towards[triangle < 0]


@pytest.mark.parametrize("ends", [False, True])
@pytest.mark.parametrize("keys", [FLAT, VEE, TROUGH, PARABOLA, ASKEW, DISH])
def test_all_that_leaves_a_reflector_leaves_by_an_opening(keys: dict[str, Any], ends: bool) -> None:
    around = keys.get("sweep") == "around"
    if ends and (around or keys["profile"] == "flat"):
        pytest.skip("has no ends")
    lamp = tube((0.595, 0.3, 0.5), (0.605, 0.3, 0.5)) if around else tube()
    openings, start, towards = leaving_rays(keys | ({"ends": True} if ends else {}), lamp)
    leaves = np.zeros(len(start), dtype=np.int64)
    for corner, u, v, normal in openings:
        assert np.dot(u, v) == pytest.approx(0.0, abs=1e-15)
        slope = towards @ normal
        t = ((corner - start) @ normal) / np.where(slope > 0.0, slope, 1.0)
        place = start + t[:, None] * towards - corner
        within = (place @ u >= -1e-6 * (u @ u)) & (place @ u <= (1.0 + 1e-6) * (u @ u))
        within &= (place @ v >= -1e-6 * (v @ v)) & (place @ v <= (1.0 + 1e-6) * (v @ v))
        leaves += (slope > 0.0) & (t > -1e-3) & within
    assert len(start) > 500
    # Over an edge a ray can graze two faces of the box, by the slack that is left above.
    assert np.all((leaves == 1) | (leaves == 2))
    assert (leaves == 2).mean() < 0.01


FREE = {"lamp": None, "facing": [0, 0, -1]}


def test_free_reflector_stands_where_it_is_told() -> None:
    mesh = mesh_of(FLAT, **FREE, **{"from": ["0 cm", "0 cm", "50 cm"], "to": ["0 cm", "40 cm", "50 cm"]})
    assert mesh.bounds == pytest.approx(np.array([[-0.04, 0.0, 0.52], [0.04, 0.4, 0.52]]))
    assert np.all(mesh.normals[:, 2] < 0.0)


def test_free_dome_stands_where_it_is_told() -> None:
    mesh = mesh_of(PARABOLA, sweep="around", at=["10 cm", "20 cm", "50 cm"], **FREE)
    assert mesh.bounds[1, 2] == pytest.approx(0.53)
    assert mesh.bounds.mean(axis=0)[:2] == pytest.approx([0.1, 0.2], abs=1e-9)


@pytest.mark.parametrize(
    ("keys", "lamp", "message"),
    [
        (
            FLAT | {"above": "7 mm"},
            tube(),
            "it would cut through lamp 'tube'; raise 'above' (now 0.7 cm) beyond the lamp's radius",
        ),
        (
            TROUGH | {"width": "1 cm", "floor_width": "1 cm"},
            tube(),
            "it would cut through lamp 'tube'; raise 'above' (now 1.5 cm) beyond the lamp's radius, "
            "or make the trough wider",
        ),
        (
            PARABOLA | {"focus": "5 mm"},
            tube(),
            "it would cut through lamp 'tube'; raise 'focus' (now 0.5 cm) beyond the lamp's radius",
        ),
        (
            FACETS | {"points": [["-5 cm", "-1 mm"], ["5 cm", "-1 mm"]]},
            tube(),
            "it would cut through lamp 'tube'; move its points away from the axis",
        ),
        (
            TROUGH | {"sweep": "around"},
            tube(),
            "it would cut through lamp 'tube'; raise 'above' (now 1.5 cm) beyond the lamp's radius, "
            "or make the trough wider",
        ),
        (
            TROUGH | {"ends": True, "length": "40 cm"},
            tube(),
            "its end plates would cut through lamp 'tube', dark ends included; make 'length' 60 cm or more (now 40 cm)",
        ),
        (
            TROUGH | {"ends": True},
            replace(tube((0, 0, 0), (0.5, 0, 0)), body=tube((-0.05, 0, 0), (0.55, 0, 0)).body),
            "its end plates would cut through lamp 'tube', dark ends included; "
            "make 'length' 60 cm or more (now 50 cm, that of the lit part)",
        ),
        (
            FLAT,
            tube((0, 0, 0), (0, 0, 0.1)),
            "it cannot open along its own axis; give a facing square to the axis, or sweep = 'around' for a dome",
        ),
        (
            INVOLUTE | {"radius": "8 mm"},
            tube(),
            "it would cut through lamp 'tube'; raise 'radius' (now 0.8 cm) beyond the lamp's",
        ),
        (
            CURVE | {"points": [["-5 cm", "1 cm"], ["0 cm", "-5 mm"], ["5 cm", "1 cm"]]},
            tube(),
            "it would cut through lamp 'tube'; move its points away from the axis",
        ),
        (
            VEE | {"depth": "2 cm", "above": "11 mm", "width": "1 cm"},
            tube(),
            "it would cut through lamp 'tube'; raise 'above' (now 1.1 cm), or make it wider",
        ),
        (FLAT, None, "it is attached to lamp 'tube', whose shape is missing"),
    ],
)
def test_refusals_with_a_lamp(keys: dict[str, Any], lamp: Body | None, message: str) -> None:
    with pytest.raises(ValueError, match="^" + message.replace("(", r"\(").replace(")", r"\)")):
        reflector(keys).surfaces(lamp)


def test_sheet_behind_a_panel_is_clear_of_it() -> None:
    panel = rectangle(np.array([0.3, 0.4, 0.5]), np.array([0.6, 0, 0]), np.array([0, -0.2, 0]))
    lamp = Body(panel, np.array([0.3, 0.3, 0.5]), np.array([0.9, 0.3, 0.5]), np.array(DOWN))
    assert mesh_of(FLAT, lamp, width="40 cm", above="1 mm").bounds[0, 2] == pytest.approx(0.501)


ENDS = {"from": ["0 cm", "0 cm", "0 cm"], "to": ["40 cm", "0 cm", "0 cm"]}


@pytest.mark.parametrize(
    ("keys", "changes", "message"),
    [
        (FLAT, ENDS, "a reflector on a lamp with sweep 'along' takes no 'from'"),
        (FLAT, {"at": ["0 cm"] * 3}, "a reflector on a lamp with sweep 'along' takes no 'at'"),
        (FLAT, {"sweep": "around", "length": "5 cm"}, "a reflector on a lamp with sweep 'around' takes no 'length'"),
        (TROUGH, {"sweep": "around", "ends": True}, "a reflector on a lamp with sweep 'around' takes no 'ends'"),
        (FLAT, FREE | ENDS | {"length": "5 cm"}, "a free reflector with sweep 'along' takes no 'length'"),
        (
            FLAT,
            {"lamp": None} | ENDS,
            "a free reflector with sweep 'along' needs from, to and facing; or give lamp = 'name of its lamp'",
        ),
        (
            FLAT,
            FREE | {"sweep": "around"},
            "a free reflector with sweep 'around' needs at and facing; or give lamp = 'name of its lamp'",
        ),
        (
            FLAT,
            FREE | ENDS | {"to": ["0 cm"] * 3},
            "'from' and 'to' are the same point; they are the two ends of the reflector's axis",
        ),
        (
            FLAT,
            FREE | ENDS | {"facing": [1, 0, 0]},
            "it cannot open along its own axis; give a facing square to the axis, or sweep = 'around' for a dome",
        ),
        (
            FLAT,
            {"ends": True},
            "no flat plate closes the ends: the straight line between the profile's two edges meets the profile",
        ),
        (
            FACETS,
            {"sweep": "around", "points": [["-1 cm", "-2 cm"], ["2 cm", "-2 cm"]]},
            "points of a sweep 'around' count across from its axis, so the first number is 0 or more",
        ),
        (
            FACETS,
            {"points": [["0 cm", "-2 cm"], ["0 cm", "-3 cm"]]},
            "the profile turns neither side towards the lamp's axis, which is the origin of its points",
        ),
        (
            CURVE,
            {"sweep": "around"},
            "points of a sweep 'around' count across from its axis, so the first number is 0 or more",
        ),
        (
            INVOLUTE,
            {"width": "6 cm"},
            "the involute of a circle of radius 0.9 cm is 5.655 cm wide at most, not 6 cm; "
            "raise 'radius' or lessen 'width'",
        ),
        (PARABOLA, {"depth": "3 cm"}, "Extra inputs are not permitted"),
        (FLAT, {"above": None}, "Field required"),
    ],
)
def test_refusals(keys: dict[str, Any], changes: dict[str, object], message: str) -> None:
    assert refusal(keys, **changes) == message


@pytest.mark.parametrize("page", [Flat, Vee, Trough, Parabola, Involute, Facets, Curve])
def test_example_of_the_manual_page(page: type[ReflectorBase]) -> None:
    (example,) = examples(page)
    (keys,) = example["reflectors"]
    found = reflector(keys)
    assert isinstance(found, page)
    (surface,) = found.surfaces(tube())
    assert surface.mesh.areas.min() > 0.0
