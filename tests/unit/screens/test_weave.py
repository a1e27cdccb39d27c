"""What passes a woven screen: known open areas, a table by angle, and rays through real round wires."""

import numpy as np
import pytest

from sim.materials.screen import Screen
from sim.screens.weave import direct_transmittance
from sim.transport.arrays import F64
from sim.transport.tree_build import build_tree
from sim.transport.tree_traverse import MISS, closest_hits
from tests.support.sizes import COMPILED

# Two crossed layers of round wires taken as independent, computed apart from the program (numpy, Gauss-Legendre).
# Rows: wire over pitch; columns: degrees from the normal / from the direction across one set of wires.
ANGLES = [(0, 0), (30, 0), (45, 0), (45, 45), (60, 0), (60, 45), (70, 0), (75, 0), (75, 45), (80, 0)]
TABLE = {
    0.176: [0.67898, 0.65654, 0.61891, 0.61535, 0.53395, 0.52088, 0.39998, 0.26367, 0.25333, 0.0],
    0.250: [0.56250, 0.53349, 0.48483, 0.48138, 0.37500, 0.36568, 0.20179, 0.02556, 0.08672, 0.0],
    0.100: [0.81000, 0.79608, 0.77272, 0.77005, 0.72000, 0.70877, 0.63686, 0.55227, 0.51523, 0.38171],
}
LAMBERTIAN = {0.176: 0.55696, 0.250: 0.42137, 0.100: 0.72503}


def direction(polar_deg: float, azimuth_deg: float) -> F64:
    polar, azimuth = np.radians(polar_deg), np.radians(azimuth_deg)
    return np.array([np.sin(polar) * np.cos(azimuth), np.sin(polar) * np.sin(azimuth), -np.cos(polar)])


@pytest.mark.parametrize("fill", TABLE)
def test_table_by_angle(fill: float) -> None:
    directions = np.array([direction(*angles) for angles in ANGLES])
    # Rows are given for wires of one fill both ways, so the two azimuths 0 and 90 agree.
    turned = directions[:, [1, 0, 2]]
    for seen in (directions, turned, -directions):
        np.testing.assert_allclose(direct_transmittance((fill, fill), seen), TABLE[fill], atol=2e-5)


@pytest.mark.parametrize("fill", LAMBERTIAN)
def test_mean_over_diffuse_light(fill: float) -> None:
    """Midpoint rule over the square of the sine and the azimuth: equal shares of Lambertian light."""
    n = 400
    sine = np.sqrt((np.arange(n) + 0.5) / n)[:, None]
    azimuth = 2.0 * np.pi * (np.arange(n) + 0.5)[None, :] / n
    directions = np.stack(
        [sine * np.cos(azimuth), sine * np.sin(azimuth), np.sqrt(1.0 - sine**2) * np.ones_like(azimuth)], axis=-1
    )
    assert direct_transmittance((fill, fill), directions).mean() == pytest.approx(LAMBERTIAN[fill], abs=2e-4)


# Open area of square cloth, (1 - d/p)^2 with p = 25.4 mm / count (ASTM E2016); counts and wires as commonly sold.
CLOTHS = [
    (16, 16, 0.2794, 0.67898),
    (18, 16, 0.2794, 0.66085),
    (12, 12, 0.58, 0.52705),
    (8, 8, 0.71, 0.60276),
    (4, 4, 0.635, 0.81000),
    (2, 2, 1.00, 0.84872),
]


@pytest.mark.parametrize(("count_u", "count_v", "wire_mm", "open_area"), CLOTHS)
def test_open_area_of_cloths(count_u: int, count_v: int, wire_mm: float, open_area: float) -> None:
    screen = Screen.model_validate(
        {"kind": "screen", "wire": f"{wire_mm} mm", "pitch": [f"{25.4 / count_u} mm", f"{25.4 / count_v} mm"]}
    )
    by_count = Screen.model_validate({"kind": "screen", "wire": f"{wire_mm} mm", "mesh": [count_u, count_v]})
    assert screen.fill == pytest.approx(by_count.fill, abs=1e-12)
    assert float(direct_transmittance(screen.fill, np.array([0.0, 0.0, 1.0]))) == pytest.approx(open_area, abs=1e-5)


def test_the_two_sets_of_wires_are_told_apart() -> None:
    """Wires along x shade what is slanted along y."""
    slanted = direction(60.0, 90.0)
    along_x, along_y = direct_transmittance((0.2, 0.0), slanted), direct_transmittance((0.0, 0.2), slanted)
    assert (float(along_x), float(along_y)) == pytest.approx((1.0 - 0.2 * 2.0, 1.0 - 0.2), abs=1e-12)


def wires(pitch: float, radius: float, count: int, height: float, along: int) -> F64:
    """Triangles of long round wires, 64-sided, side by side along one axis at one height."""
    sides = 64
    angle = 2.0 * np.pi * np.arange(sides + 1) / sides
    # The silhouette of the polygon is on average that of the circle.
    ring = radius * np.pi / (sides * np.sin(np.pi / sides)) * np.column_stack([np.cos(angle), np.sin(angle)])
    half = 2.0 * count * pitch
    triangles = []
    for index in range(-count, count + 1):
        centre = (index + 0.5) * pitch
        low = np.zeros((sides + 1, 3))
        low[:, along], low[:, 1 - along], low[:, 2] = -half, centre + ring[:, 0], height + ring[:, 1]
        high = low.copy()
        high[:, along] = half
        triangles += [
            np.stack([low[:-1], low[1:], high[1:]], axis=1),
            np.stack([low[:-1], high[1:], high[:-1]], axis=1),
        ]
    return np.concatenate(triangles)


@pytest.mark.skipif(not COMPILED, reason="hundreds of thousands of rays need compiled code")
@pytest.mark.parametrize(("polar", "azimuth"), [(0, 0), (45, 45), (60, 20), (70, 10)])
def test_rays_through_round_wires(polar: float, azimuth: float) -> None:
    """Two crossed layers, 16 a inch, wires of 0.2794 mm: each layer's shadow taken for itself is what rays find."""
    pitch, wire, count = 1.5875e-3, 0.2794e-3, 12
    layers = [wires(pitch, 0.5 * wire, count, 0.0, 0), wires(pitch, 0.5 * wire, count, -wire, 1)]
    tree = build_tree(np.concatenate(layers))
    d = direction(polar, azimuth)
    rng = np.random.Generator(np.random.PCG64(int(polar)))
    rays = 400_000
    # Points uniform over one mesh between the layers, drawn back along the ray.
    origins = np.zeros((rays, 3))
    origins[:, :2] = pitch * rng.random((rays, 2))
    origins[:, 2] = -0.5 * wire
    origins -= 5.0 * wire / abs(d[2]) * d
    distance, triangle = np.full(rays, np.nan), np.full(rays, -9)
    closest_hits(tree, origins, np.tile(d, (rays, 1)), distance, triangle)
    passed = float((triangle == MISS).mean())
    expected = float(direct_transmittance((wire / pitch, wire / pitch), d))
    # Four standard errors of a share of 4e5 rays, and a thousandth for the sides of the wires.
    assert passed == pytest.approx(expected, abs=4.0 * np.sqrt(0.25 / rays) + 1e-3)
