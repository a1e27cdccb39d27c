"""What small matt lamps bring by plane mirrors and panes: images counted out, as in any textbook of optics."""

import math
from collections.abc import Iterator

import numpy as np

from sim.transport.arrays import F64
from tests.support.scene_blocks import Triple, plate

Images = Iterator[tuple[F64, F64, int]]
"""Place of each image, the way it faces, and how many turns light takes from there."""
SIDE = 4.0
DOWN: Triple = (0.0, 0.0, -1.0)


def mirror(reflectance: float) -> str:
    return f'{{ kind = "mirror", reflectance = {reflectance!r} }}'


def small_lamp(x: Triple, normal: Triple, y: F64, facing: F64) -> float:
    """Irradiance [m-2] per watt of a small matt disc at y that faces along `facing`."""
    way = np.array(x) - y
    distance = float(np.linalg.norm(way))
    leaves, arrives = float(way @ facing) / distance, -float(way @ np.array(normal)) / distance
    return max(0.0, leaves) * max(0.0, arrives) / (math.pi * distance**2)


def sum_of(images: Images, reflectance: float, x: Triple, normal: Triple) -> float:
    return sum(reflectance**turns * small_lamp(x, normal, y, facing) for y, facing, turns in images)


def wedge(parts: int) -> tuple[str, str]:
    """Two mirrors that meet along z at 180 degrees over a whole number."""
    angle, up = math.pi / parts, (0.0, 0.0, SIDE)
    return (
        plate("first", (0, 0, -1), (SIDE, 0, 0), up, mirror(0.8)),
        plate("second", (0, 0, -1), (SIDE * math.cos(angle), SIDE * math.sin(angle), 0), up, mirror(0.8)),
    )


def wedge_images(parts: int, lamp: Triple, x: Triple) -> Images:
    """All 2 parts - 1 images and the lamp: each is seen once from wherever one is between the mirrors."""
    radius, at, own, angle = (
        math.hypot(*lamp[:2]),
        math.atan2(lamp[1], lamp[0]),
        math.atan2(x[1], x[0]),
        math.pi / parts,
    )
    for turn in range(parts):
        for place in (at + 2 * turn * angle, 2 * turn * angle - at):
            across = (place - own + math.pi) % (2 * math.pi) - math.pi
            first, last = sorted((own, own + across))
            turns = math.floor(last / angle) - math.floor(first / angle)
            yield np.array([radius * math.cos(place), radius * math.sin(place), lamp[2]]), np.array(DOWN), turns


def box_images(size: Triple, lamp: Triple, most: int) -> Images:
    """Images in a closed box of mirrors: a lattice, which is turned in every second cell."""
    for i in range(-most, most + 1):
        for j in range(abs(i) - most, most - abs(i) + 1):
            left = most - abs(i) - abs(j)
            for k in range(-left, left + 1):
                cells = (i, j, k)
                place = [
                    cell * side + (own if cell % 2 == 0 else side - own)
                    for cell, side, own in zip(cells, size, lamp, strict=True)
                ]
                yield np.array(place), np.array([0.0, 0.0, -1.0 if k % 2 == 0 else 1.0]), sum(map(abs, cells))
