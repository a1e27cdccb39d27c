"""A square tunnel of four mirrors, a matt panel at its end: a chessboard of images, each dimmed once for every wall.

Image method as in any textbook of optics (light pipes, kaleidoscopes). Paths and planes must find light that met
mirrors many times. Four standard errors (a right program fails once in 16,000).
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.answers import by_chance, traced_text
from tests.support.scene_blocks import panel, plane, plate, point, scene
from tests.support.view_factors import element_to_parallel_rectangle

SIDE, HEIGHT = 0.1, 0.3
IMAGES = 40


def corners(i: int, j: int) -> Iterator[tuple[int, float, float]]:
    """Corners of an image, counted from the middle, with the sign of the rectangle from the axis to each."""
    for sign, a, b in ((1, 0.5, 0.5), (-1, -0.5, 0.5), (-1, 0.5, -0.5), (1, -0.5, -0.5)):
        yield sign, (i + a) * SIDE, (j + b) * SIDE


def expected(reflectance: float) -> float:
    """Irradiance in the middle of the open end, for an exitance of one."""

    def factor(x: float, y: float) -> float:
        sign = (1 if x >= 0 else -1) * (1 if y >= 0 else -1)
        return sign * element_to_parallel_rectangle(abs(x), abs(y), HEIGHT)

    total = 0.0
    for i in range(-IMAGES, IMAGES + 1):
        for j in range(-IMAGES, IMAGES + 1):
            image = sum(sign * factor(x, y) for sign, x, y in corners(i, j))
            total += reflectance ** (abs(i) + abs(j)) * image
    return total


def test_white_mirrors_make_an_endless_panel() -> None:
    # What is left out of the sum subtends little: the images reach 13 heights of the tunnel to each side.
    assert expected(1.0) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("reflectance", [0.5, 0.8])
def test_middle_of_the_open_end(reflectance: float, tmp_path: Path) -> None:
    law = f'{{ kind = "mirror", reflectance = {reflectance} }}'
    walls = [
        plate(name, (x, y, 0), edge, (0, 0, HEIGHT), law)
        for name, x, y, edge in (
            ("front", 0, 0, (SIDE, 0, 0)),
            ("back", 0, SIDE, (SIDE, 0, 0)),
            ("left", 0, 0, (0, SIDE, 0)),
            ("right", SIDE, 0, (0, SIDE, 0)),
        )
    ]
    meters = point("point", (SIDE / 2, SIDE / 2, 0)), plane("plane", (0.049, 0.049, 0), (0.002, 0, 0), (0, 0.002, 0))
    lamp = panel((0, 0, HEIGHT), (0, SIDE, 0), (SIDE, 0, 0), SIDE**2)
    answer = traced_text(scene("A tunnel", lamp, *walls, *meters, histories=1_000_000), tmp_path)
    for name in ("point", "plane"):
        assert expected(reflectance) == by_chance(answer.sensor(name))
