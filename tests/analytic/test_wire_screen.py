"""Woven screens: direct transmission through two crossed layers of round wires.

Open area by ASTM E2016; off the normal by the wires' projected diameters, on which the window-screen models of building
physics rest (N. Kotey, J. Wright, M. Collins, ASHRAE Transactions 115(1), 2009). The wires here are black.
"""

from pathlib import Path

import numpy as np
import pytest

from tests.support.answers import Reading, near, traced_file, traced_text
from tests.support.scene_blocks import Triple, panel, plate, point, scene, tube
from tests.support.tube_light import line_irradiance, under_line
from tests.support.woven_wires import of_matt_light, through_wires, under_a_line


def mesh(fill_x: float, fill_y: float, pitch_mm: float = 2.0) -> str:
    """A law: wires along the surface's first edge, and along its second."""
    wires = f'["{fill_x * pitch_mm!r} mm", "{fill_y * pitch_mm!r} mm"]'
    return f'{{ kind = "screen", wire = {wires}, pitch = "{pitch_mm} mm" }}'


def test_formulas_give_their_numbers() -> None:
    # By quadrature over the lamp and over the half space.
    assert [under_a_line(s, 0.6, 0.3) for s in (0.176, 0.25, 0.1)] == pytest.approx(
        [0.664443, 0.543710, 0.800981], abs=6e-7
    )
    assert under_a_line(0.176, 0.6, 0.15) == pytest.approx(0.651869, abs=6e-7)
    assert [of_matt_light(s, s) for s in (0.176, 0.25, 0.1)] == pytest.approx([0.55696, 0.42137, 0.72503], abs=6e-6)
    directions = np.array([[0, 0, 1], [np.sin(np.pi / 3), 0, 0.5], [0.5, 0.5, np.sqrt(0.5)]], dtype=float)
    assert through_wires(0.176, 0.176)(directions) == pytest.approx([0.67898, 0.53395, 0.61535], abs=6e-6)
    by_sum = line_irradiance(1, 0.6, (0, 0, -0.3), (0, 0, 1), through_wires(0.176, 0.176))
    assert by_sum / under_line(1, 0.6, 0.3) == pytest.approx(under_a_line(0.176, 0.6, 0.3), rel=1e-9)


@pytest.mark.parametrize(
    ("name", "across", "depth", "share"),
    [("below", 0.0, 0.3, 0.664443), ("near", 0.0, 0.15, 0.651869), ("beside", 0.2, 0.3, 0.63433)],
)
def test_thin_tube_over_a_mesh(name: str, across: float, depth: float, share: float) -> None:
    reading = traced_file("mesh-under-thin-tube").sensor(name)
    assert share * under_line(1, 0.6, depth, across) == near(reading, 0.005)


@pytest.mark.parametrize("fill", [0.25, 0.1, 0.4])
@pytest.mark.parametrize("distance", [0.3, 0.12])
def test_other_meshes_under_a_thin_tube(fill: float, distance: float, tmp_path: Path) -> None:
    text = scene(
        "A mesh",
        tube((-0.3, 0, 0), (0.3, 0, 0), 1e-3, 1.0),
        plate("mesh", (-1, -1, -0.05), (2, 0, 0), (0, 2, 0), mesh(fill, fill)),
        point("below", (0, 0, -distance)),
        histories=300_000,
        receiver_size=0.5,
    )
    expected = under_a_line(fill, 0.6, distance) * under_line(1, 0.6, distance)
    assert expected == near(traced_text(text, tmp_path).sensor("below"), 0.005)


# Unlike sets of wires tell along from across: the first are along the plate's first edge.
@pytest.mark.parametrize(
    ("edge_u", "edge_v", "across"),
    [
        ((2.0, 0.0, 0.0), (0.0, 2.0, 0.0), 0.0),
        ((0.0, 2.0, 0.0), (-2.0, 0.0, 0.0), 0.0),
        ((2.0, 0.0, 0.0), (0.0, 2.0, 0.0), 0.25),
        ((0.0, 2.0, 0.0), (-2.0, 0.0, 0.0), 0.25),
        ((2.0**0.5, 2.0**0.5, 0.0), (-(2.0**0.5), 2.0**0.5, 0.0), 0.1),
    ],
)
def test_wires_run_along_the_edges_of_their_surface(
    edge_u: Triple, edge_v: Triple, across: float, tmp_path: Path
) -> None:
    u, v = np.array(edge_u), np.array(edge_v)
    corner = np.array([0.0, 0.0, -0.1]) - 0.5 * (u + v)
    text = scene(
        "Unlike wires",
        tube((-0.3, 0, 0), (0.3, 0, 0), 1e-3, 1.0),
        plate("mesh", (corner[0], corner[1], corner[2]), edge_u, edge_v, mesh(0.1, 0.35)),
        point("meter", (0, across, -0.3)),
        histories=300_000,
        receiver_size=0.5,
    )
    turned = np.stack([u / np.linalg.norm(u), v / np.linalg.norm(v), [0.0, 0.0, 1.0]])
    wires = through_wires(0.1, 0.35)
    expected = line_irradiance(1, 0.6, (0, across, -0.3), (0, 0, 1), lambda directions: wires(directions @ turned.T))
    assert expected == near(traced_text(text, tmp_path).sensor("meter"), 0.005)


def test_two_meshes_multiply_by_direction(tmp_path: Path) -> None:
    lid = [plate(f"mesh {i}", (-1, -1, -0.05 * i), (2, 0, 0), (0, 2, 0), mesh(0.2, 0.2)) for i in (1, 2)]
    lamp, meter = tube((-0.3, 0, 0), (0.3, 0, 0), 1e-3, 1.0), point("meter", (0, 0.1, -0.3))
    text = scene("Two meshes", lamp, *lid, meter, histories=300_000, receiver_size=0.5)
    wires = through_wires(0.2, 0.2)
    expected = line_irradiance(1, 0.6, (0, 0.1, -0.3), (0, 0, 1), lambda directions: wires(directions) ** 2)
    assert expected == near(traced_text(text, tmp_path).sensor("meter"), 0.005)


@pytest.mark.parametrize(("fill_x", "fill_y"), [(0.176, 0.176), (0.25, 0.25), (0.1, 0.1), (0.05, 0.4)])
def test_matt_light_through_a_mesh(fill_x: float, fill_y: float, tmp_path: Path) -> None:
    # A panel on a large mesh sends light into all directions by the cosine law; what escapes is the matt mean.
    text = scene(
        "A panel on a mesh",
        panel((-0.05, -0.05, 1e-4), (0, 0.1, 0), (0.1, 0, 0), 1.0),
        plate("mesh", (-2, -2, 0), (4, 0, 0), (0, 4, 0), mesh(fill_x, fill_y)),
        histories=200_000,
        receiver_size=1.0,
    )
    answer = traced_text(text, tmp_path)
    # Absolute: 200,000 photons of which a share passes have a standard error of at most 0.0011.
    assert of_matt_light(fill_x, fill_y) == pytest.approx(answer.energy("escaped_W"), abs=0.003)
    assert answer.absorbed("mesh") + answer.energy("escaped_W") == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("fill", [0.176, 0.3])
def test_meter_close_under_a_mesh_and_a_large_panel(fill: float, tmp_path: Path) -> None:
    # The panel fills the meter's sky as far down as the mesh lets any light through.
    text = scene(
        "A wide panel over a mesh",
        panel((-1, -1, 0.05), (0, 2, 0), (2, 0, 0), 4.0),
        plate("mesh", (-1, -1, 0.02), (2, 0, 0), (0, 2, 0), mesh(fill, fill)),
        point("meter", (0, 0, 0)),
        histories=600_000,
        receiver_size=1.0,
    )
    reading = traced_text(text, tmp_path).sensor("meter")
    # One watt of exitance a square metre would give the meter one, so the reading is the share itself.
    assert of_matt_light(fill, fill) == near(Reading(*reading), 0.003)
