"""Where lamps' light leaves their reflectors, and where plane mirrors show that."""

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.scene.check import Survey
from sim.transport.arrays import Emitters, Mirrors
from sim.transport.openings import COLUMNS

MOST_MIRRORS = 4
"""Plane mirrors, the largest ones, that paths from points are sent to for what they show of reflectors."""
TWICE = 0.5
"""How much rarer paths are sent to what two mirrors show, one in the other: it is dimmer, and further off."""
SAME = 1e-9
"""Images nearer to each other than this [m] are one, such as those in a right angle."""


def with_openings(emitters: Emitters, seen: Survey, mirrors: Mirrors) -> Emitters:
    """Return emitters with the openings of each lamp's reflector, of several the largest one's."""
    found = []
    for lamp in seen.scene.lamps:
        shape = seen.lamps[lamp.name]
        own = [sheet.openings(shape) for sheet in seen.scene.reflectors if sheet.lamp == lamp.name]
        largest = max(own, key=lambda faces: float(_areas(faces).sum()), default=np.zeros((0, 4, 3)))
        found.append(_rows(largest, mirrors))
    first = np.cumsum([0, *(len(rows) for rows in found)])
    return emitters._replace(opening_first=first, opening=np.concatenate([np.zeros((0, COLUMNS)), *found]))


def _areas(faces: FloatArray) -> FloatArray:
    areas: FloatArray = np.linalg.norm(np.cross(faces[:, 1], faces[:, 2]), axis=1)
    return areas


def _rows(faces: FloatArray, mirrors: Mirrors) -> FloatArray:
    """Return faces, and what mirrors show of them and of each other, as rows of ``opening`` in `Emitters`."""
    once = [(row, image) for row, image in enumerate(_images(faces, mirrors))]
    twice: list[FloatArray] = []
    for first, image in once:
        for second, again in enumerate(_images(image, mirrors)):
            if second != first and not any(np.abs(again - other).max(initial=0.0) < SAME for other in twice):
                twice.append(again)
    all_faces = np.concatenate([faces, *(image for _, image in once), *twice])
    share = np.where(np.arange(len(all_faces)) < (1 + len(once)) * len(faces), 1.0, TWICE)
    area, squares = _areas(all_faces), (all_faces[:, 1:3] ** 2).sum(axis=2)
    return np.column_stack([all_faces.reshape(-1, 12), area, squares, share * area])


def _images(faces: FloatArray, mirrors: Mirrors) -> list[FloatArray]:
    """Return what the largest plane mirrors show of faces: corner, two edges and normal, (n, 4, 3) each."""
    images = []
    for point, normal in zip(mirrors.point[:MOST_MIRRORS], mirrors.normal[:MOST_MIRRORS], strict=True):
        image = faces - 2.0 * (faces @ normal)[:, :, None] * normal
        image[:, 0] += 2.0 * (point @ normal) * normal
        images.append(image)
    return images
