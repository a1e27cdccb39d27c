"""A plane mirror doubles a lamp: the image of a line is a line (Keitz), at twice the mirror's distance."""

from pathlib import Path

import pytest

from tests.support.answers import near, traced_file, traced_text
from tests.support.scene_blocks import plate, point, scene, tube
from tests.support.tube_light import opposite_tube, under_line


def mirror(height: float, reflectance: float, from_x: float = -2.0) -> str:
    law = f'{{ kind = "mirror", reflectance = {reflectance} }}'
    return plate("mirror", (from_x, 2, height), (2.0 - from_x, 0, 0), (0, -4, 0), law)


def test_lamp_under_a_mirror() -> None:
    direct, image = under_line(10, 0.6, 0.3, 0.1), under_line(10, 0.6, 0.4, 0.1)
    assert (direct, image) == pytest.approx((6.37501, 4.38962), abs=6e-6)
    assert direct + 0.9 * image == near(traced_file("mirror-above-thin-tube").sensor("beside"), 0.005)


@pytest.mark.parametrize(
    ("reflectance", "height", "length", "across"), [(0.9, 0.02, 0.3, 0.15), (0.6, 0.2, 0.9, 0.05), (1.0, 0.1, 0.6, 0.4)]
)
def test_lamp_under_other_mirrors(
    reflectance: float, height: float, length: float, across: float, tmp_path: Path
) -> None:
    text = scene(
        "A mirror",
        tube((-length / 2, 0, 0), (length / 2, 0, 0), 1e-3, 2.0),
        mirror(height, reflectance),
        point("meter", (0.05, across, -0.25)),
        histories=400_000,
        receiver_size=1.0,
    )
    direct = under_line(2.0, length, 0.25, across, 0.05)
    image = under_line(2.0, length, 0.25 + 2 * height, across, 0.05)
    assert direct + reflectance * image == near(traced_text(text, tmp_path).sensor("meter"), 0.005)


def test_half_a_mirror_shows_a_piece_of_the_image(tmp_path: Path) -> None:
    height, depth, across, from_x = 0.1, 0.3, 0.1, 0.05
    text = scene(
        "Half a mirror",
        tube((-0.3, 0, 0), (0.3, 0, 0), 1e-3, 2.0),
        mirror(height, 0.8, from_x),
        point("meter", (0, across, -depth)),
        histories=400_000,
        receiver_size=1.0,
    )
    # The meter sees image points whose line of sight meets the mirror's plane beyond its edge.
    first = from_x * (depth + 2 * height) / (depth + height)
    image = under_line(2.0, 0.6, depth + 2 * height, across, part=(first, 0.3))
    expected = under_line(2.0, 0.6, depth, across) + 0.8 * image
    assert expected == near(traced_text(text, tmp_path).sensor("meter"), 0.005)


def test_meter_with_its_back_to_the_lamp_sees_the_image_alone(tmp_path: Path) -> None:
    text = scene(
        "Over the shoulder",
        tube((-0.3, 0, 0), (0.3, 0, 0), 1e-3, 2.0),
        plate("mirror", (-2, 0.2, -2), (0, 0, 4), (4, 0, 0), '{ kind = "mirror", reflectance = 0.9 }'),
        point("meter", (0, -0.1, 0), (0, 1, 0)),
        point("away", (0, 0.1, 0), (0, 1, 0)),
        histories=400_000,
        receiver_size=1.0,
    )
    # The image stands at y = 0.4; for the first meter the lamp itself is in front, for the second behind.
    answer = traced_text(text, tmp_path)
    assert 0.9 * under_line(2.0, 0.6, 0.3) == near(answer.sensor("away"), 0.005)
    assert under_line(2.0, 0.6, 0.1) == near(answer.sensor("meter"), 0.006)


def test_lamp_hides_its_own_image(tmp_path: Path) -> None:
    with_mirror = traced_file("lamp-hides-its-image").sensor("below")
    text = scene(
        "Without a mirror",
        tube((-0.3, 0, 0), (0.3, 0, 0), 0.013, 10.0),
        point("below", (0, 0, -0.3)),
        histories=300_000,
    )
    without = traced_text(text, tmp_path).sensor("below")
    assert opposite_tube(10.0, 0.013, 0.6, 0.3) == near(with_mirror, 0.003)
    # Not one ray by the mirror: the same points of the lamp, the same sum.
    assert without.value == pytest.approx(with_mirror.value, rel=1e-6)
