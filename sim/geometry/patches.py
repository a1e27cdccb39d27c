"""Receivers on meshes without a grid: triangles cut to size and gathered into compact patches."""

import numpy as np

from sim.geometry.closed import merged
from sim.geometry.edges import of_keys, pair_keys, sides
from sim.geometry.frame import cells_of_size
from sim.geometry.mesh import FloatArray, IntArray, Mesh

MOST_TRIANGLES = 4_000_000
"""Triangles that cutting to size may make of one surface."""

LEAST_BORDER = 0.15
"""Least part of a remnant's outline that it shares with the patch that it joins."""

LIKE_NORMALS = 0.5
"""Least cosine between the normals of a remnant and of the patch that it joins: 60 degrees."""


def split_to_size(mesh: Mesh, size: float) -> Mesh:
    """Return the same surface with no triangle edge longer than `size` [m].

    Raises
    ------
    ValueError
        If that takes more than `MOST_TRIANGLES`.

    Notes
    -----
    Each edge that is too long is halved for both of its triangles at once, so no crack opens; a triangle becomes two,
    three or four. Repeated until all edges are short enough.
    """
    most_area = np.sqrt(3.0) / 4.0 * size * size  # of a triangle with edges of that size
    if mesh.areas.sum() > MOST_TRIANGLES * most_area:
        raise ValueError(_too_fine(size))
    while np.any(mesh.side_lengths > size):
        keys, which = np.unique(pair_keys(sides(mesh.faces), len(mesh.vertices)), return_inverse=True)
        edges = of_keys(keys, len(mesh.vertices))
        long = np.zeros(len(edges), dtype=np.bool_)
        long[which[mesh.side_lengths[:, [1, 2, 0]].ravel() > size]] = True
        if len(mesh.faces) > MOST_TRIANGLES // 4:
            raise ValueError(_too_fine(size))
        middle = np.full(len(edges), -1)
        middle[long] = len(mesh.vertices) + np.arange(np.count_nonzero(long))
        vertices = np.concatenate([mesh.vertices, mesh.vertices[edges[long]].mean(axis=1)])
        mesh = Mesh(vertices, _split_faces(vertices, mesh.faces, middle[which.reshape(-1, 3)]))
    return mesh


def _too_fine(size: float) -> str:
    return (
        f"edges of {1e3 * size:g} mm would cut it into more than {MOST_TRIANGLES} triangles; ask for larger receivers"
    )


def _split_faces(vertices: FloatArray, faces: IntArray, middles: IntArray) -> IntArray:
    """Return the triangles after halving the edges that have a middle (not -1), (m, 3) each: ab, bc, ca."""
    cuts = np.count_nonzero(middles >= 0, axis=1)
    # Turn each triangle until its first edge is the cut one (one cut), or its third the uncut one (two cuts).
    leading = np.where(cuts == 1, np.argmax(middles >= 0, axis=1), (np.argmax(middles < 0, axis=1) + 1) % 3)
    order = (np.where(np.isin(cuts, [1, 2]), leading, 0)[:, None] + np.arange(3)) % 3
    a, b, c = np.take_along_axis(faces, order, axis=1).T
    ab, bc, ca = np.take_along_axis(middles, order, axis=1).T
    one, two, three = cuts == 1, cuts == 2, cuts == 3

    def rows(which: np.ndarray[tuple[int], np.dtype[np.bool_]], *corners: IntArray) -> IntArray:
        picked: IntArray = np.stack([corner[which] for corner in corners], axis=-1)
        return picked

    # Two cuts leave a quadrilateral a, ab, bc, c; cut it along its shorter diagonal to keep triangles compact.
    other = np.linalg.norm(vertices[a] - vertices[bc], axis=1) < np.linalg.norm(vertices[ab] - vertices[c], axis=1)
    return np.concatenate(
        [
            faces[cuts == 0],
            *(rows(one, *part) for part in ((a, ab, c), (ab, b, c))),
            rows(two, ab, b, bc),
            *(rows(two & other, *part) for part in ((a, ab, bc), (a, bc, c))),
            *(rows(two & ~other, *part) for part in ((a, ab, c), (ab, bc, c))),
            *(rows(three, *part) for part in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))),
        ]
    )


def patches(mesh: Mesh, size: float) -> IntArray:
    """Return the receiver of each triangle, (m,) int: 0 … n - 1, each a connected patch of about `size` [m].

    Notes
    -----
    Triangles belong together where their normals share the dominant axis and sign, their centres lie in one cell of a
    grid over the other two axes, and a chain of common edges joins them. Remnants below a quarter of the wanted area
    then join the neighbour of like normal with which they share the longest border. The same mesh gives the same
    patches; a triangle larger than `size` is a patch of its own (`split_to_size` cuts it first).
    """
    welded = merged(mesh)
    pairs, lengths = _neighbours(welded)
    key = _grid_keys(mesh, size)
    together = np.all(key[pairs[:, 0]] == key[pairs[:, 1]], axis=1)
    labels = _components(len(mesh.faces), pairs[together])
    return _without_remnants(mesh, labels, pairs, lengths, 0.25 * size * size)


def patch_areas(mesh: Mesh, patch: IntArray) -> FloatArray:
    """Return the area of each patch, (n,) [m2]."""
    return _sums(patch, mesh.areas)


def patch_centres(mesh: Mesh, patch: IntArray) -> FloatArray:
    """Return the centre of gravity of each patch, (n, 3) [m]."""
    weighted = mesh.areas[:, None] * mesh.centres
    sums = np.stack([_sums(patch, weighted[:, axis]) for axis in range(3)], axis=1)
    centres: FloatArray = sums / patch_areas(mesh, patch)[:, None]
    return centres


def patch_normals(mesh: Mesh, patch: IntArray) -> FloatArray:
    """Return the unit mean normal of each patch by area, (n, 3); zero where the normals cancel."""
    sums = np.stack([_sums(patch, mesh.area_vectors[:, axis]) for axis in range(3)], axis=1)
    norms = np.linalg.norm(sums, axis=1)
    clear = norms > 1e-9 * patch_areas(mesh, patch)
    normals: FloatArray = np.divide(sums, norms[:, None], out=np.zeros_like(sums), where=clear[:, None])
    return normals


def _sums(patch: IntArray, weights: FloatArray, count: int = 0) -> FloatArray:
    return np.asarray(np.bincount(patch, weights=weights, minlength=count), dtype=np.float64)


def _grid_keys(mesh: Mesh, size: float) -> IntArray:
    normals = mesh.normals
    axis = np.argmax(np.abs(normals), axis=1)
    side = 2 * axis + (np.take_along_axis(normals, axis[:, None], axis=1)[:, 0] < 0.0)
    lowest, highest = mesh.bounds
    extent = highest - lowest
    counts = np.array([cells_of_size(float(length), size) for length in extent])
    # Means of a flat mesh's corners lie a rounding error off it: that is no place across it.
    place = (mesh.centres - lowest) / np.where(extent > 0.0, extent, 1.0)
    cell = np.clip((place * counts).astype(np.int64), 0, counts - 1)
    np.put_along_axis(cell, axis[:, None], 0, axis=1)  # connection, not depth, tells parallel sheets apart
    return np.column_stack([side, cell])


def _neighbours(mesh: Mesh) -> tuple[IntArray, FloatArray]:
    """Return pairs of triangles that share an edge, (k, 2), and its length, (k,) [m]."""
    keys = pair_keys(sides(mesh.faces), len(mesh.vertices))
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    same = np.flatnonzero(ordered[:-1] == ordered[1:])
    pairs = np.stack([order[same] // 3, order[same + 1] // 3], axis=1)
    ends = mesh.vertices[of_keys(ordered[same], len(mesh.vertices))]
    return pairs, np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)


def _components(count: int, pairs: IntArray) -> IntArray:
    """Return the number of each item's connected component, counted by first appearance, (count,)."""
    root = np.arange(count)
    while True:
        lowest = root.copy()
        np.minimum.at(lowest, root[pairs[:, 0]], root[pairs[:, 1]])
        np.minimum.at(lowest, root[pairs[:, 1]], root[pairs[:, 0]])
        while np.any(lowest != lowest[lowest]):
            lowest = lowest[lowest]
        if np.array_equal(lowest[root], root):
            break
        root = lowest[root]
    _, labels = np.unique(root, return_inverse=True)
    return labels.reshape(-1)


def _without_remnants(mesh: Mesh, labels: IntArray, pairs: IntArray, lengths: FloatArray, least: float) -> IntArray:
    # Two remnants that join each other may still be one: repeat until nothing changes.
    while True:
        joined = _joined_remnants(mesh, labels, pairs, lengths, least)
        if joined.max() == labels.max():
            return labels
        labels = joined


def _joined_remnants(mesh: Mesh, labels: IntArray, pairs: IntArray, lengths: FloatArray, least: float) -> IntArray:
    areas = patch_areas(mesh, labels)
    best = _likely_neighbours(mesh, labels, pairs, lengths)
    root = list(range(len(areas)))
    for small in np.argsort(areas, kind="stable").tolist():
        if small in best:
            mine, target = _root(root, small), _root(root, best[small])
            if areas[mine] < least and mine != target:
                root[max(mine, target)] = min(mine, target)
                areas[min(mine, target)] = areas[mine] + areas[target]
    _, renumbered = np.unique([_root(root, patch) for patch in range(len(areas))], return_inverse=True)
    return renumbered.reshape(-1)[labels]


def _likely_neighbours(mesh: Mesh, labels: IntArray, pairs: IntArray, lengths: FloatArray) -> dict[int, int]:
    """Return for each patch the neighbour of like normal with which it shares the longest border, if there is one.

    A border that is but a small part of a patch's outline does not count: a strip along a thin twig is no remnant of
    the next strip, though it is small.
    """
    joint: IntArray = labels[pairs]
    apart = joint[:, 0] != joint[:, 1]
    outline = _sums(labels, mesh.perimeters)
    outline -= 2.0 * _sums(joint[~apart, 0], lengths[~apart], len(outline))
    keys, which = np.unique(pair_keys(joint[apart], len(outline)), return_inverse=True)
    border, border_length = of_keys(keys, len(outline)), _sums(which, lengths[apart], len(keys))
    normals = patch_normals(mesh, labels)
    alike = np.einsum("bk,bk->b", normals[border[:, 0]], normals[border[:, 1]]) > LIKE_NORMALS
    best: dict[int, tuple[float, int]] = {}
    for (first, second), length in zip(border[alike].tolist(), border_length[alike].tolist(), strict=True):
        for patch, other in ((first, second), (second, first)):
            if length > best.get(patch, (LEAST_BORDER * outline[patch], -1))[0]:
                best[patch] = (length, other)
    return {patch: other for patch, (_, other) in best.items()}


def _root(root: list[int], item: int) -> int:
    while root[item] != item:
        item = root[item]
    return item
