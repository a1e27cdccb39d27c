"""Loops over single functions of the kernels, compiled as they are, so that tests can call them by the million."""

import numpy as np
import numpy.typing as npt

from sim.transport.arrays import BOOL, F64, I64, Emitters, Laws, Model, Surfaces
from sim.transport.beams import beam_density
from sim.transport.between import new_between, reaches
from sim.transport.direct import place_in
from sim.transport.emission import emit, sample_direction, sample_point, scramble_key
from sim.transport.facets import eval_multiple, pdf_multiple, sample_multiple
from sim.transport.first_legs import new_first_legs, set_off, take
from sim.transport.jit import kernel
from sim.transport.lamp_tree import lamp_often, sample_lamp
from sim.transport.listing import list_between, set_between
from sim.transport.openings import first_density, first_direction
from sim.transport.parts import LOBE
from sim.transport.photons import cell_of
from sim.transport.rng import philox, uniforms
from sim.transport.sampling import (
    basis,
    eval_lobe,
    pdf_cosine,
    pdf_lobe,
    sample_cosine,
    sample_lobe,
    sample_triangle,
)
from sim.transport.scatter import choose_part, numbers_of, part_share, scatter
from sim.transport.shadow import clear, through_mirror, unshaded, unshaded_image
from sim.transport.sobol import BLOCK, scrambled, scrambled_block, sobol_word
from sim.transport.tree_traverse import closest_hit, new_stack
from sim.transport.triangles import surface_of
from sim.transport.vectors import copy
from sim.transport.wires import between_wires, wires_density

Bits = npt.NDArray[np.uint64]


@kernel
def philox_words(counters: Bits, keys: Bits, words: Bits) -> None:
    """Fill words (n, 4) from counters (n, 4) and keys (n, 2), all uint64."""
    for row in range(len(counters)):
        c, k = counters[row], keys[row]
        words[row, 0], words[row, 1], words[row, 2], words[row, 3] = philox(c[0], c[1], c[2], c[3], k[0], k[1])


@kernel
def uniform_numbers(index: I64, bounce: int, purpose: int, seed: int, stream: int, out: F64) -> None:
    """Fill (n, 4) with the four numbers of each index."""
    for row in range(len(index)):
        out[row, 0], out[row, 1], out[row, 2], out[row, 3] = uniforms(index[row], bounce, purpose, seed, stream)


@kernel
def sobol_words(words: Bits) -> None:
    """Fill (n, dimensions) uint64 with the first points of the sequence."""
    for index in range(words.shape[0]):
        for dimension in range(words.shape[1]):
            words[index, dimension] = sobol_word(index, dimension)


@kernel
def scrambled_points(keys: Bits, out: F64) -> None:
    """Fill (key, n, dimensions) with the first points under each key."""
    for row in range(out.shape[0]):
        for index in range(out.shape[1]):
            for dimension in range(out.shape[2]):
                out[row, index, dimension] = scrambled(index, dimension, keys[row])


@kernel
def scrambled_blocks(keys: Bits, out: F64) -> None:
    """Fill (key, n, dimensions), n a multiple of sixteen, with what `scrambled_points` does."""
    rows = np.zeros((out.shape[2], BLOCK))
    for row in range(out.shape[0]):
        for block in range(out.shape[1] // BLOCK):
            scrambled_block(block, keys[row], rows)
            out[row, BLOCK * block : BLOCK * (block + 1)] = rows.T


@kernel
def photons_together(model: Model, lamp: int, first: int, last: int, seed: int, start: F64, meeting: F64) -> None:
    """Fill origins and directions, start (n, 6), and distances, triangles and numbers, meeting (n, 6), by `set_off`.

    Rows are photons from `first` on, which set out together.
    """
    legs, key = new_first_legs(), scramble_key(seed, lamp, 1)
    set_off(model, lamp, first, last, seed, lamp, key, legs)
    for row in range(last - first):
        t, triangle, numbers = take(model, legs, first + row, start[row, :3], start[row, 3:])
        meeting[row, 0], meeting[row, 1] = t, triangle
        meeting[row, 2], meeting[row, 3], meeting[row, 4], meeting[row, 5] = numbers


@kernel
def photons_alone(model: Model, lamp: int, first: int, last: int, seed: int, start: F64, meeting: F64) -> None:
    """Fill what `photons_together` does, one photon after the other."""
    stack, key = new_stack(), scramble_key(seed, lamp, 1)
    for row in range(last - first):
        o, d = start[row, :3], start[row, 3:]
        leaving = emit(model.emitters, lamp, first + row, key, o, d)
        meeting[row, 0], meeting[row, 1] = closest_hit(model.tree, o, d, np.inf, stack, leaving)
        numbers = numbers_of(first + row, 0, seed, lamp)
        meeting[row, 2], meeting[row, 3], meeting[row, 4], meeting[row, 5] = numbers


@kernel
def reached(
    model: Model, lamp: int, receiver: int, way: int, u: F64, counts: I64, by_lists: F64, by_walks: F64, faced: BOOL
) -> None:
    """Fill what a receiver gets of each band (n, b) from points of a lamp, by lists and by walks; u is (n, 5).

    `counts` (lists,) tells how many pieces lie between, `faced` (n,) which points face the receiver.
    """
    between, stack = new_between(model.tree, len(model.mirrors.surface), len(model.surfaces.law)), new_stack()
    x, target, o, d = np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3)
    set_between(model, lamp, between)
    list_between(model, lamp, receiver, np.ones(1 + len(model.mirrors.surface)), between)
    counts[:] = between.found
    normal = model.receivers.normal[receiver]
    for index in range(len(u)):
        place_in(model, receiver, u[index, 0], u[index, 1], x)
        row = sample_point(model.emitters, lamp, u[index, 2], u[index, 3], u[index, 4], target)
        if way == 0:
            value, _, _, distance = unshaded(model, lamp, row, target, x, normal, d)
        else:
            value, _, _, distance = unshaded_image(model, lamp, row, target, way - 1, x, normal, o, d)
        faced[index] = value > 0.0
        if value <= 0.0:
            continue
        straight = d.copy()
        copy(model.emitters.live[lamp], by_lists[index])
        if not reaches(model, lamp, between, way, x, o, d, distance, by_lists[index], stack):
            by_lists[index] = 0.0
        copy(x, o)
        copy(straight, d)
        copy(model.emitters.live[lamp], by_walks[index])
        if way == 0:
            gets = clear(model, lamp, o, d, distance, by_walks[index], stack)
        else:
            gets = through_mirror(model, lamp, way - 1, o, d, distance, by_walks[index], stack)
        if not gets:
            by_walks[index] = 0.0


@kernel
def bases(normals: F64, out: F64) -> None:
    """Fill (n, 6) with the two vectors perpendicular to each normal."""
    for row in range(len(normals)):
        ax, ay, az, bx, by, bz = basis(normals[row, 0], normals[row, 1], normals[row, 2])
        out[row, 0], out[row, 1], out[row, 2] = ax, ay, az
        out[row, 3], out[row, 4], out[row, 5] = bx, by, bz


@kernel
def cosine_samples(u: F64, out: F64, density: F64) -> None:
    """Fill directions (n, 3) from (n, 2) uniforms, and their densities (n,)."""
    for row in range(len(u)):
        x, y, z = sample_cosine(u[row, 0], u[row, 1])
        out[row, 0], out[row, 1], out[row, 2] = x, y, z
        density[row] = pdf_cosine(z)


@kernel
def triangle_samples(u: F64, out: F64) -> None:
    """Fill weights of edges (n, 2) from (n, 2) uniforms."""
    for row in range(len(u)):
        out[row, 0], out[row, 1] = sample_triangle(u[row, 0], u[row, 1])


@kernel
def lobe_samples(arrival: F64, alpha: float, u: F64, out: F64) -> None:
    """Fill directions and unshaded shares (n, 4) from (n, 2) uniforms."""
    for row in range(len(u)):
        x, y, z, share = sample_lobe(arrival[0], arrival[1], arrival[2], alpha, u[row, 0], u[row, 1])
        out[row, 0], out[row, 1], out[row, 2], out[row, 3] = x, y, z, share


@kernel
def lobe_densities(arrival: F64, departure: F64, alpha: float, density: F64, value: F64) -> None:
    """Fill pdf_lobe and eval_lobe (n,) for pairs of directions (n, 3)."""
    for row in range(len(departure)):
        a, b = arrival[row], departure[row]
        density[row] = pdf_lobe(a[0], a[1], a[2], b[0], b[1], b[2], alpha)
        value[row] = eval_lobe(a[0], a[1], a[2], b[0], b[1], b[2], alpha)


@kernel
def multiple_samples(facets: F64, u: F64, out: F64) -> None:
    """Fill directions (n, 3) of light off several facets from (n, 2) uniforms."""
    for row in range(len(u)):
        out[row, 0], out[row, 1], out[row, 2] = sample_multiple(facets, u[row, 0], u[row, 1])


@kernel
def multiple_densities(facets: F64, z: F64, oz: F64, density: F64, value: F64) -> None:
    """Fill the density at cosines `oz` of light off several facets, and its BRDF from `z` to there, (n,) each."""
    for row in range(len(oz)):
        density[row] = pdf_multiple(facets, oz[row])
        value[row] = eval_multiple(facets, z[row], oz[row])


@kernel
def emission_samples(emitters: Emitters, lamp: int, u: F64, rows: I64, points: F64, directions: F64) -> None:
    """Fill triangle rows (n,), points and directions (n, 3) from (n, 5) uniforms."""
    for row in range(len(u)):
        rows[row] = sample_point(emitters, lamp, u[row, 0], u[row, 1], u[row, 2], points[row])
        sample_direction(emitters, lamp, rows[row], u[row, 3], u[row, 4], directions[row])


@kernel
def lamp_samples(
    emitters: Emitters, lamp: int, x: F64, normal: F64, u: F64, rows: I64, often: F64, points: F64
) -> None:
    """Fill faces (n,), how often (n,) and points (n, 3) for one place from (n, 3) uniforms."""
    for row in range(len(u)):
        rows[row], often[row] = sample_lamp(emitters, lamp, x, normal, u[row, 0], u[row, 1], u[row, 2], points[row])


@kernel
def lamp_oftens(emitters: Emitters, lamp: int, x: F64, normal: F64, rows: I64, points: F64, often: F64) -> None:
    """Fill how often (n,) points (n, 3) on faces (n,) are drawn for one place."""
    for row in range(len(rows)):
        often[row] = lamp_often(emitters, lamp, x, normal, rows[row], points[row])


@kernel
def first_directions(emitters: Emitters, lamp: int, x: F64, normal: F64, u: F64, directions: F64) -> None:
    """Fill (n, 3) with where paths set out to from a place by (n, 2) uniforms."""
    for row in range(len(u)):
        first_direction(emitters, lamp, True, x, normal, u[row, 0], u[row, 1], directions[row])


@kernel
def first_densities(emitters: Emitters, lamp: int, x: F64, normal: F64, directions: F64, out: F64) -> None:
    """Fill (n,) with the density per steradian of directions (n, 3) above a place's horizon."""
    for row in range(len(directions)):
        d = directions[row]
        cosine = d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]
        out[row] = first_density(emitters, lamp, True, x, normal, d, cosine)


@kernel
def beam_densities(emitters: Emitters, lamp: int, directions: F64, out: F64) -> None:
    """Fill (n,) with the share of power per steradian that a lamp's own angular law sends in each direction."""
    beam = emitters.beam[lamp]
    for index in range(len(out)):
        d = directions[index]
        out[index] = beam_density(emitters.beams, beam[0], beam[1], beam[2], d[0], d[1], d[2])


@kernel
def passed_shares(laws: Laws, surfaces: Surfaces, triangle: int, directions: F64, out: F64) -> None:
    """Fill (n,) with what a screen lets pass in each direction."""
    law = surfaces.law[surface_of(surfaces, triangle), 0]
    for row in range(len(directions)):
        out[row] = between_wires(laws, surfaces, law, triangle, directions[row])


@kernel
def wire_densities(
    laws: Laws, surfaces: Surfaces, triangle: int, part: int, arrival: F64, departure: F64, out: F64
) -> None:
    """Fill (n,) with the density of each departure (n, 3) of light that came along each arrival (n, 3)."""
    law = surfaces.law[surface_of(surfaces, triangle), 0]
    for row in range(len(arrival)):
        out[row] = wires_density(surfaces, laws, law, triangle, part, arrival[row], departure[row])


@kernel
def part_shares(laws: Laws, law: int, cosine: F64, out: F64) -> None:
    """Fill (angle, lamp, band, part) with the share of each part, screens left out."""
    for row in range(len(cosine)):
        for lamp in range(out.shape[1]):
            for band in range(out.shape[2]):
                for part in range(LOBE + 1):
                    out[row, lamp, band, part] = part_share(laws, law, lamp, band, part, cosine[row])


@kernel
def chosen_parts(laws: Laws, law: int, cosine: float, before: F64, u: F64, parts: I64, after: F64) -> None:
    """Fill parts (n,) and weights (n, band) after each choice that starts from weights `before` (band,)."""
    for row in range(len(u)):
        after[row] = before
        parts[row] = choose_part(laws, law, 0, cosine, after[row], u[row])


@kernel
def scattered(
    surfaces: Surfaces,
    laws: Laws,
    triangle: int,
    arrival: F64,
    before: F64,
    seed: int,
    directions: F64,
    after: F64,
    parts: I64,
) -> None:
    """Fill directions (n, 3), weights (n, band) and parts (n,) of rays that meet a triangle along `arrival` (3,)."""
    for index in range(len(parts)):
        directions[index] = arrival
        after[index] = before
        parts[index] = scatter(surfaces, laws, triangle, 0, directions[index], after[index], index, 3, seed, 7)


@kernel
def cells_of(surfaces: Surfaces, triangle: int, surface: int, points: F64, cells: I64) -> None:
    """Fill (n,) with the receiver of each point (n, 3) of a surface."""
    for row in range(len(points)):
        cells[row] = cell_of(surfaces, triangle, surface, points[row])


def uniform_block(count: int, columns: int, seed: int) -> F64:
    """Return plain uniforms (count, columns), from numpy's generator, not from ours."""
    return np.random.Generator(np.random.PCG64(seed)).random((count, columns))
