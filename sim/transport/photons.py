"""Photons from a lamp until they are absorbed or escape: the plain estimator that all others are tested against."""

import numpy as np

from sim.transport.arrays import BY_LINKS, BY_PATHS, F64, Model, Planes, Stack, Surfaces
from sim.transport.emission import scramble_key, stream_of
from sim.transport.first_legs import MANY, new_first_legs, set_off, take
from sim.transport.jit import helper, kernel, variable
from sim.transport.parts import ABSORBED, DIFFUSE, LOBE, MIRROR, STRAIGHT, THROUGH
from sim.transport.scatter import numbers_of, scatter_by
from sim.transport.tree_traverse import MISS, NEAR, closest_hit, new_stack
from sim.transport.triangles import receiver_of, surface_of
from sim.transport.vectors import add, add_row, along_normal, book, copy

EMISSION = 2
MOST = 1000.0
"""Strongest link [m-2]: both cosines over distance squared. It acts on links of less than 3 cm."""
AHEAD = -1.0
"""Stands for the distance to a hit that is still to be looked for."""
BOUNCE_LIMIT = 100_000
"""Nobody's scene needs it; what is left then is tallied as unfinished, so that a lossless trap is seen, not hidden."""


@helper
def cell_of(surfaces: Surfaces, triangle: int, surface: int, p: F64) -> int:
    """Return the receiver of a point on a surface's front, or -1."""
    first, nu, nv = surfaces.cells[surface, 0], surfaces.cells[surface, 1], surfaces.cells[surface, 2]
    if first < 0:
        return receiver_of(surfaces, triangle)
    u, v = 0.0, 0.0
    for axis in range(3):
        offset = p[axis] - surfaces.grid[surface, axis]
        u += offset * surfaces.grid[surface, 3 + axis]
        v += offset * surfaces.grid[surface, 6 + axis]
    i = min(max(int(u * nu), 0), nu - 1)
    j = min(max(int(v * nv), 0), nv - 1)
    return first + i + nu * j


@helper
def _cross(
    planes: Planes,
    o: F64,
    d: F64,
    far: float,
    weights: F64,
    found: bool,
    linked: bool,
    cosine: float,
    away: float,
    crossed: F64,
) -> None:
    """Add a photon's weight to every flat receiver that it crosses, from its front, within a distance [m].

    With `found`, receivers that also get paths are left out, since those find such light; with `linked`, those that get
    links receive what is above the strongest link, for a photon that left a matt surface at a cosine and has gone
    `away` [m] so far. The power that crosses a cell over the cell's area is its irradiance, whatever the angle.
    """
    for plane in range(len(planes.normal)):
        way = planes.cells[plane, 3]
        if found and way == BY_PATHS:
            continue
        toward = 0.0
        height = 0.0
        for axis in range(3):
            toward += d[axis] * planes.normal[plane, axis]
            height += (planes.grid[plane, axis] - o[axis]) * planes.normal[plane, axis]
        if toward >= 0.0:
            continue
        t = height / toward
        # A receiver on a surface is crossed by what arrives there, but not again by what leaves.
        if t <= NEAR or t > far + NEAR:
            continue
        u, v = 0.0, 0.0
        for axis in range(3):
            offset = o[axis] + t * d[axis] - planes.grid[plane, axis]
            u += offset * planes.grid[plane, 3 + axis]
            v += offset * planes.grid[plane, 6 + axis]
        if u < 0.0 or u >= 1.0 or v < 0.0 or v >= 1.0:
            continue
        first, nu, nv = planes.cells[plane, 0], planes.cells[plane, 1], planes.cells[plane, 2]
        row = first + int(u * nu) + nu * int(v * nv)
        if not (linked and way == BY_LINKS):
            add_row(weights, crossed, row)
            continue
        share = 1.0 - MOST * (away + t) * (away + t) / (cosine * -toward)
        if share > 0.0:
            for band in range(len(weights)):
                book(share * weights[band], crossed, row, band)


@helper
def _arrive(
    surfaces: Surfaces,
    triangle: int,
    surface: int,
    o: F64,
    d: F64,
    weights: F64,
    gathered: bool,
    cells: F64,
    straight: F64,
) -> None:
    """Add a photon that meets a measured side to its cell, or to the surface's straight light where rays find it."""
    if along_normal(d, surfaces.normal[triangle]) >= 0.0:
        return
    cell = cell_of(surfaces, triangle, surface, o)
    if cell < 0:
        return
    if gathered and surfaces.shared[cell] == 1:
        add_row(weights, straight, surface)
    else:
        add_row(weights, cells, cell)


@helper
def _lose(before: F64, weights: F64, absorbed: F64, surface: int) -> float:
    """Book what a step took from the weights as absorbed, so that the books close to the last bit; return the rest."""
    live = 0.0
    for band in range(len(weights)):
        book(before[band] - weights[band], absorbed, surface, band)
        live += weights[band]
    return live


@helper
def history(
    model: Model,
    lamp: int,
    index: int,
    seed: int,
    stream: int,
    t: float,
    triangle: int,
    numbers: tuple[float, float, float, float],
    o: F64,
    d: F64,
    weights: F64,
    before: F64,
    stack: Stack,
    cells: F64,
    crossed: F64,
    absorbed: F64,
    escaped: F64,
    unfinished: F64,
    straight: F64,
) -> None:
    """Follow one photon from o towards d, and add to one replicate's tallies.

    It meets a triangle at t with the numbers that are given; at t = AHEAD it leaves the triangle, and what it meets is
    looked for here.

    Cells (c, b), crossed (q, b), absorbed and straight (s, b), escaped and unfinished (b,). Crossings and shared cells
    leave out what `gather_direct` finds: light straight from the lamp, and by one plane mirror that has an image.
    `gather_paths` finds well what meets a matt surface so, and nothing else before it, `gather_links` what came
    straight or by one such mirror from the last matt surface.
    """
    surfaces = model.surfaces
    copy(model.emitters.live[lamp], weights)
    turns, found, matt = variable(0), True, False
    linked, cosine, away = False, 1.0, 0.0
    for bounce in range(BOUNCE_LIMIT):
        if t == AHEAD:
            t, triangle = closest_hit(model.tree, o, d, np.inf, stack, triangle)
        if matt or not found:
            _cross(model.planes, o, d, t, weights, found, linked, cosine, away, crossed)
        if triangle == MISS:
            add(weights, escaped)
            return
        for axis in range(3):
            o[axis] += t * d[axis]
        away += t
        surface = surface_of(surfaces, triangle)
        _arrive(surfaces, triangle, surface, o, d, weights, found and not matt, cells, straight)
        copy(weights, before)
        part = scatter_by(surfaces, model.laws, triangle, lamp, d, weights, numbers, index, bounce, seed, stream)
        if part == ABSORBED:
            for band in range(len(weights)):
                weights[band] = 0.0
        elif part in (MIRROR, LOBE):
            turns += 1
            by_image = part == MIRROR and surfaces.mirror[surface] == 1
            linked = linked and turns == 1 and by_image
            if not matt:
                found = turns == 1 and by_image
        elif part != STRAIGHT:
            matt, turns, linked, away = True, 0, part in (DIFFUSE, THROUGH), 0.0
            cosine = abs(along_normal(d, surfaces.normal[triangle]))
        if _lose(before, weights, absorbed, surface) == 0.0:
            return
        numbers = numbers_of(index, bounce + 1, seed, stream)
        t = AHEAD
    add(weights, unfinished)


@kernel
def trace_photons(
    model: Model,
    lamp: int,
    replicate: int,
    first: int,
    count: int,
    seed: int,
    cells: F64,
    crossed: F64,
    absorbed: F64,
    escaped: F64,
    unfinished: F64,
    straight: F64,
) -> None:
    """Trace photons ``first … first + count - 1`` of a lamp in one replicate and add to its tallies.

    Parameters
    ----------
    model : Model
    lamp, replicate, first, count, seed : int
    cells : (c, b) float
        Photon weight that arrived at each cell's measured side, added in the order of the photons; at shared cells but
        for what `gather_direct` finds.
    crossed : (q, b) float
        Photon weight that crossed each flat gathered receiver from its front, but for what `gather_direct` finds.
    absorbed : (s, b) float
    escaped, unfinished : (b,) float
    straight : (s, b) float
        Photon weight that arrived at each surface's shared cells and is left out there.
    """
    stream = stream_of(replicate, lamp)
    key = scramble_key(seed, stream, EMISSION)
    bands = model.emitters.live.shape[1]
    o, d = np.zeros(3), np.zeros(3)
    weights, before = np.zeros(bands), np.zeros(bands)
    stack, legs = new_stack(), new_first_legs()
    for index in range(first, first + count):
        if index == first or index % MANY == 0:
            set_off(model, lamp, index, min(first + count, index - index % MANY + MANY), seed, stream, key, legs)
        t, triangle, numbers = take(model, legs, index, o, d)
        history(
            model,
            lamp,
            index,
            seed,
            stream,
            t,
            triangle,
            numbers,
            o,
            d,
            weights,
            before,
            stack,
            cells,
            crossed,
            absorbed,
            escaped,
            unfinished,
            straight,
        )
