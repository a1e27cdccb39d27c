"""Chi-square tests of every sampler against its density, and of lamps against Lambert's law on their surface."""

import numpy as np
import pytest
from pydantic import TypeAdapter

from sim.compile.emitters import pack_emitters
from sim.lamps.any_lamp import Lamp
from sim.lamps.lamp import SIDES, LampShape
from sim.transport.arrays import F64, I64, Emitters
from tests.support.kernel_loops import (
    bases,
    cosine_samples,
    emission_samples,
    lobe_densities,
    lobe_samples,
    triangle_samples,
    uniform_block,
)
from tests.support.significance import chi_square, sidak
from tests.support.sizes import COMPILED, sized

pytestmark = pytest.mark.tiny

FALSE_ALARM = 0.001
"""Significance of all tests of one function together."""
TWO_PI = 2.0 * np.pi


def azimuth(x: F64, y: F64) -> F64:
    return np.mod(np.arctan2(y, x), TWO_PI)


def counted(columns: list[F64], bins: list[int], upper: list[float]) -> F64:
    """Counts over a grid of equal cells from zero to the upper ends."""
    ranges = [(0.0, top * (1.0 + 1e-12)) for top in upper]
    return np.histogramdd(np.column_stack(columns), bins=bins, range=ranges)[0]


def even(count: int, bins: int) -> F64:
    return np.full(bins, count / bins)


def test_cosine() -> None:
    count = sized(500_000, 3_000)
    directions, density = np.zeros((count, 3)), np.zeros(count)
    cosine_samples(uniform_block(count, 2, 1), directions, density)
    x, y, z = directions.T
    np.testing.assert_allclose(np.linalg.norm(directions, axis=1), 1.0, atol=1e-12)
    np.testing.assert_allclose(density, z / np.pi, atol=1e-15)
    # Equal steps of z squared and of azimuth hold equal shares of cos / pi.
    seen = counted([z**2, azimuth(x, y)], [16, 16] if COMPILED else [8, 8], [1.0, TWO_PI])
    assert chi_square(seen, even(count, seen.size)) > FALSE_ALARM


def test_triangle() -> None:
    count = sized(500_000, 3_000)
    weights = np.zeros((count, 2))
    triangle_samples(uniform_block(count, 2, 2), weights)
    s, t = weights.T
    assert s.min() >= 0.0
    assert t.min() >= 0.0
    assert (s + t).max() <= 1.0
    # (s + t)^2 and s / (s + t) are independent and uniform for a uniform point of a triangle.
    seen = counted([(s + t) ** 2, s / (s + t)], [16, 16] if COMPILED else [8, 8], [1.0, 1.0])
    assert chi_square(seen, even(count, seen.size)) > FALSE_ALARM


def test_bases_are_right_handed_and_square() -> None:
    rng = np.random.Generator(np.random.PCG64(9))
    normals = rng.standard_normal((200, 3))
    normals[:6] = np.concatenate([np.eye(3), -np.eye(3)])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    out = np.zeros((len(normals), 6))
    bases(normals, out)
    a, b = out[:, :3], out[:, 3:]
    np.testing.assert_allclose(np.cross(a, b), normals, atol=1e-12)
    np.testing.assert_allclose(np.linalg.norm(out.reshape(-1, 3), axis=1), 1.0, atol=1e-12)


ALPHAS = [0.05, 0.1, 0.3, 0.7, 1.0]
ARRIVALS = [0.0, 40.0, 70.0, 85.0]
Z_BINS, PHI_BINS = sized(48, 6), sized(48, 8)


def arrival_at(degrees: float) -> F64:
    polar = np.radians(degrees)
    return np.array([np.sin(polar) * np.cos(0.7), np.sin(polar) * np.sin(0.7), np.cos(polar)])


def grid_integral(arrival: F64, alpha: float, nodes: int) -> tuple[F64, F64]:
    """Integrals of the lobe's density and of its BRDF times the cosine over (z, azimuth) cells of a hemisphere."""
    points, weights = np.polynomial.legendre.leggauss(nodes)
    z_edges, phi_edges = np.linspace(0.0, 1.0, Z_BINS + 1), np.linspace(0.0, TWO_PI, PHI_BINS + 1)
    z = (z_edges[:-1, None] + 0.5 * (points + 1.0) / Z_BINS).ravel()
    phi = (phi_edges[:-1, None] + 0.5 * (points + 1.0) * TWO_PI / PHI_BINS).ravel()
    zz, pp = np.meshgrid(z, phi, indexing="ij")
    sine = np.sqrt(1.0 - zz**2)
    departure = np.stack([sine * np.cos(pp), sine * np.sin(pp), zz], axis=-1).reshape(-1, 3)
    density, value = np.zeros(len(departure)), np.zeros(len(departure))
    lobe_densities(np.tile(arrival, (len(departure), 1)), departure, alpha, density, value)
    shape = (Z_BINS, nodes, PHI_BINS, nodes)
    cell = 0.25 * TWO_PI / (Z_BINS * PHI_BINS)
    both = [part.reshape(shape) * weights[:, None, None] * weights for part in (density, value * departure[:, 2])]
    return tuple(cell * part.sum(axis=(1, 3)) for part in both)  # type: ignore[return-value]


def fineness(alpha: float, degrees: float) -> int:
    """Nodes in a cell along each side: a sharp lobe is narrower yet at grazing incidence."""
    if alpha > 0.2:
        return 8
    return 16 if degrees < 60.0 else 48


@pytest.mark.parametrize("degrees", ARRIVALS)
@pytest.mark.parametrize("alpha", ALPHAS)
def test_lobe(alpha: float, degrees: float) -> None:
    """Directions follow the density; the rest goes below the horizon, and shading makes of it the BRDF."""
    if not COMPILED and (alpha < 0.3 or degrees == 85.0):
        pytest.skip("sharp lobes need more samples than plain Python can draw")
    count = sized(400_000, 2_000)
    arrival = arrival_at(degrees)
    out = np.zeros((count, 4))
    lobe_samples(arrival, alpha, uniform_block(count, 2, 3), out)
    x, y, z, share = out.T
    np.testing.assert_allclose(np.linalg.norm(out[:, :3], axis=1), 1.0, atol=1e-9)
    density, reflected = grid_integral(arrival, alpha, sized(fineness(alpha, degrees), 4))
    above = z > 0.0
    assert np.all(share[~above] == 0.0)
    assert np.all((share[above] > 0.0) & (share[above] <= 1.0))
    seen = counted([z[above], azimuth(x[above], y[above])], [Z_BINS, PHI_BINS], [1.0, TWO_PI])
    lost = 1.0 - density.sum()
    assert lost > -1e-3
    expected = np.append(density.ravel(), max(lost, 0.0)) * count
    level = sidak(FALSE_ALARM, len(ALPHAS) * len(ARRIVALS))
    assert chi_square(np.append(seen.ravel(), (~above).sum()), expected) > level
    # The mean share is the albedo of unit facets: within 4 standard errors and what the grid leaves out.
    assert reflected.sum() <= 1.0 + 1e-3
    error = share.std() / np.sqrt(count)
    assert share.mean() == pytest.approx(reflected.sum(), abs=4.0 * error + 2e-4)


LAMP: TypeAdapter[Lamp] = TypeAdapter(Lamp)
COMMON = {"name": "lamp", "spectrum": "uvb-phosphor-306", "output": {"radiant": "1 W"}}
LAMPS = {
    "tube": {"kind": "tube", "from": ["10 cm", "20 cm", "5 cm"], "to": ["40 cm", "50 cm", "9 cm"], "radius": "8 mm"},
    "helix": {
        "kind": "compact",
        "form": "helix",
        "base": ["0 cm", "0 cm", "40 cm"],
        "turns": 3,
        "height": "6 cm",
        "coil_radius": "18 mm",
        "tube_radius": "5 mm",
    },
    "limbs": {
        "kind": "compact",
        "form": "limbs",
        "base": ["0 cm", "0 cm", "40 cm"],
        "limbs": 4,
        "limb_length": "10 cm",
        "limb_radius": "6 mm",
        "ring": "24 mm",
    },
    "panel": {
        "kind": "panel",
        "corner": ["0 cm", "0 cm", "50 cm"],
        "edge_u": ["0 cm", "20 cm", "0 cm"],
        "edge_v": ["30 cm", "0 cm", "0 cm"],
    },
}


def shape_of(name: str) -> LampShape:
    return LAMP.validate_python(COMMON | LAMPS[name]).shape()


def emitted(shapes: list[LampShape], lamp: int, count: int) -> tuple[I64, F64, F64]:
    """Rows of triangles within the lamp, points, directions."""
    emitters = pack_emitters(shapes, np.ones((len(shapes), 1)))
    rows, points, directions = np.zeros(count, dtype=np.int64), np.zeros((count, 3)), np.zeros((count, 3))
    emission_samples(emitters, lamp, uniform_block(count, 5, 4), rows, points, directions)
    return triangles_of(emitters, shapes[lamp], lamp, rows, points), points, directions


def triangles_of(emitters: Emitters, shape: LampShape, lamp: int, rows: I64, points: F64) -> I64:
    """Rows of the lit triangles on which points lie; a parallelogram is two of them."""
    whole = emitters.whole[emitters.first[lamp] : emitters.first[lamp + 1]]
    first = np.concatenate([[0], np.cumsum(1 + whole)])
    assert first[-1] == shape.emits.sum()
    rows = rows - emitters.first[lamp]
    found: I64 = first[rows]
    corners = shape.body.corners[shape.emits][found]
    s, t = barycentric(corners, points).T
    outside = (np.minimum(s, t) < -1e-12) | (s + t > 1.0 + 1e-12)
    assert not np.any(outside & (whole[rows] == 0))
    return found + outside


def barycentric(corners: F64, points: F64) -> F64:
    """Weights of the two edges of triangles at points in their planes, (n, 2)."""
    e1, e2, r = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0], points - corners[:, 0]
    n = np.cross(e1, e2)
    size = np.einsum("ij,ij->i", n, n)
    np.testing.assert_allclose(np.einsum("ij,ij->i", n, r) / np.sqrt(size), 0.0, atol=1e-12)
    s = np.einsum("ij,ij->i", np.cross(r, e2), n) / size
    t = np.einsum("ij,ij->i", np.cross(e1, r), n) / size
    return np.column_stack([s, t])


@pytest.mark.parametrize("name", LAMPS)
def test_emission(name: str) -> None:
    """Points uniform over the lit area, directions by Lambert's law about its normal, the two independent."""
    count = sized(400_000, 3_000)
    shape = shape_of(name)
    # Another lamp stands before it in the list, whose triangles must not be taken.
    rows, points, directions = emitted([shape_of("panel"), shape], 1, count)
    corners, normals, areas = (part[shape.emits] for part in (shape.body.corners, shape.body.normals, shape.body.areas))
    level = sidak(FALSE_ALARM, 4 * len(LAMPS))
    shares = np.stack([np.bincount(rows, minlength=len(areas)), count * areas / areas.sum()])
    parts = np.unique(np.linspace(0, len(areas), min(len(areas), sized(8000, 50)), endpoint=False).astype(int))
    assert chi_square(*np.add.reduceat(shares, parts, axis=1)) > level
    s, t = edge_weights(corners[rows], points)
    seen = counted([(s + t) ** 2, s / (s + t)], [8, 8], [1.0, 1.0])
    assert chi_square(seen, even(count, 64)) > level
    out = np.zeros((len(normals), 6))
    bases(normals, out)
    x, y = (np.einsum("ij,ij->i", directions, out[rows, 3 * k : 3 * k + 3]) for k in range(2))
    z = np.einsum("ij,ij->i", directions, normals[rows])
    assert z.min() > 0.0
    seen = counted([z**2, azimuth(x, y)], [8, 8], [1.0, TWO_PI])
    assert chi_square(seen, even(count, 64)) > level
    half = np.searchsorted(np.cumsum(areas) / areas.sum(), 0.5)
    first = areas[: half + 1].sum() / areas.sum()
    joint = counted([(rows > half).astype(float), z**2, (s + t) ** 2], [2, 4, 4], [1.0, 1.0, 1.0])
    expected = np.array([first, 1.0 - first])[:, None, None] * np.full((4, 4), count / 16)
    assert chi_square(joint, expected) > level


def edge_weights(corners: F64, points: F64) -> tuple[F64, F64]:
    """Weights of the two edges at points of triangles, which must lie in them."""
    s, t = barycentric(corners, points).T
    assert min(s.min(), t.min(), (1.0 - s - t).min()) > -1e-9
    return np.clip(s, 1e-15, 1.0), np.clip(t, 0.0, 1.0)


@pytest.mark.parametrize(("name", "faces", "whole"), [("panel", 1, 1), ("limbs", 4 * (SIDES + SIDES), 4 * SIDES)])
def test_flat_pairs_of_triangles_are_one_face(name: str, faces: int, whole: int) -> None:
    emitters = pack_emitters([shape_of(name)], np.ones((1, 1)))
    assert (faces, whole) == (len(emitters.whole), int(emitters.whole.sum()))
