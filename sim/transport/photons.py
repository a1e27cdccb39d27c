"""Photons from a lamp until they are absorbed or escape: the plain estimator that all others are tested against."""

from typing import Any, NamedTuple, TypeAlias

import numpy as np

from sim.transport.arrays import BY_LINKS, BY_PATHS, F64, Model, Planes, Surfaces
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


Numbers: TypeAlias = tuple[float, float, float, float]
Total: TypeAlias = Any
"""An array of floats, or a card's own kind of sums."""


class Sums(NamedTuple):
    """What photons of a replicate add to, in their order: weights by cell, surface and band.

    Crossings and shared cells leave out what `gather_direct` finds: light straight from the lamp, and by one plane
    mirror that has an image.

    ``cells`` (c, b): arrived at each cell's measured side. ``crossed`` (q, b): crossed each flat gathered receiver from
    its front. ``absorbed`` (s, b). ``escaped``, ``unfinished`` (b,). ``straight`` (s, b): arrived at each surface's
    shared cells and left out there.
    """

    cells: Total
    crossed: Total
    absorbed: Total
    escaped: Total
    unfinished: Total
    straight: Total


class Photon(NamedTuple):
    """Scratch of one photon after the other.

    ``o``, ``d`` (3,): where it is and where to it goes. ``weights``, ``before`` (b,): what it carries by band, and what
    it did before the last meeting. ``stack``: a `Stack` for walks, or a card's own.
    """

    o: F64
    d: F64
    weights: F64
    before: F64
    stack: Any


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
    planes: Planes, photon: Photon, far: float, found: bool, left: tuple[bool, float, float], crossed: Total
) -> None:
    """Add a photon's weight to every flat receiver that it crosses, from its front, within a distance [m].

    With `found`, receivers that also get paths are left out, since those find such light. `left` tells whether there
    are links for the photon, the cosine at which it left a matt surface, and how far it has gone since [m]: receivers
    that get links receive what is above the strongest link. The power that crosses a cell over the cell's area is its
    irradiance, whatever the angle.
    """
    linked, cosine, away = left
    o, d, weights = photon.o, photon.d, photon.weights
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
def _arrive(surfaces: Surfaces, triangle: int, surface: int, photon: Photon, gathered: bool, sums: Sums) -> None:
    """Add a photon that meets a measured side to its cell, or to the surface's straight light where rays find it."""
    if along_normal(photon.d, surfaces.normal[triangle]) >= 0.0:
        return
    cell = cell_of(surfaces, triangle, surface, photon.o)
    if cell < 0:
        return
    if gathered and surfaces.shared[cell] == 1:
        add_row(photon.weights, sums.straight, surface)
    else:
        add_row(photon.weights, sums.cells, cell)


@helper
def _lose(photon: Photon, absorbed: Total, surface: int) -> float:
    """Book what a meeting took from a photon as absorbed, so that the books close to the last bit; return the rest."""
    live = 0.0
    for band in range(len(photon.weights)):
        book(photon.before[band] - photon.weights[band], absorbed, surface, band)
        live += photon.weights[band]
    return live


@helper
def history(
    model: Model, lamp: int, which: tuple[int, int, int], meets: tuple[float, int, Numbers], photon: Photon, sums: Sums
) -> None:
    """Follow one photon from where it is, and add to the sums of its replicate.

    `which` are its index, the seed and the stream of its random numbers. It `meets` a triangle at a distance [m] with
    numbers; at the distance AHEAD it leaves the triangle, and what it meets is looked for here.

    `gather_paths` finds well what meets a matt surface straight from the lamp or by one mirror, and nothing else before
    it, `gather_links` what came so from the last matt surface.
    """
    (index, seed, stream), (t, triangle, numbers) = which, meets
    surfaces, o, d, weights = model.surfaces, photon.o, photon.d, photon.weights
    copy(model.emitters.live[lamp], weights)
    turns, found, matt = variable(0), True, False
    linked, cosine, away = False, 1.0, 0.0
    for bounce in range(BOUNCE_LIMIT):
        if t == AHEAD:
            t, triangle = closest_hit(model.tree, o, d, np.inf, photon.stack, triangle)
        if matt or not found:
            _cross(model.planes, photon, t, found, (linked, cosine, away), sums.crossed)
        if triangle == MISS:
            add(weights, sums.escaped)
            return
        for axis in range(3):
            o[axis] += t * d[axis]
        away += t
        surface = surface_of(surfaces, triangle)
        _arrive(surfaces, triangle, surface, photon, found and not matt, sums)
        copy(weights, photon.before)
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
        if _lose(photon, sums.absorbed, surface) == 0.0:
            return
        numbers = numbers_of(index, bounce + 1, seed, stream)
        t = AHEAD
    add(weights, sums.unfinished)


@kernel
def trace_photons(model: Model, lamp: int, replicate: int, first: int, count: int, seed: int, sums: Sums) -> None:
    """Trace photons ``first … first + count - 1`` of a lamp in one replicate and add to its sums.

    Parameters
    ----------
    model : Model
    lamp, replicate, first, count, seed : int
    sums : Sums
        Arrays of floats.
    """
    stream = stream_of(replicate, lamp)
    key = scramble_key(seed, stream, EMISSION)
    bands = model.emitters.live.shape[1]
    photon = Photon(np.zeros(3), np.zeros(3), np.zeros(bands), np.zeros(bands), new_stack())
    legs = new_first_legs()
    for index in range(first, first + count):
        if index == first or index % MANY == 0:
            set_off(model, lamp, index, min(first + count, index - index % MANY + MANY), seed, stream, key, legs)
        meets = take(model, legs, index, photon.o, photon.d)
        history(model, lamp, (index, seed, stream), meets, photon, sums)
