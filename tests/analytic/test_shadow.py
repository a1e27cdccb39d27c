"""Shadows of a straight edge under a line lamp: Keitz's line, cut where the edge hides it."""

from pathlib import Path

import pytest

from tests.support.answers import near, traced_file, traced_text
from tests.support.scene_blocks import plate, point, scene, tube
from tests.support.tube_light import under_line


def under_edge(power: float, length: float, height: float, edge: float, along: float, from_x: float = 0.0) -> float:
    """Irradiance on the floor under a line with a black sheet over x > from_x, in closed form [W/m2].

    A ray from x on the floor to x' on the lamp crosses the sheet's plane at ``x + (x' - x) edge / height``.
    """
    last = along + (from_x - along) * height / edge
    part = (-0.5 * length, min(0.5 * length, last))
    return 0.0 if part[1] <= part[0] else under_line(power, length, height, along=along, part=part)


@pytest.mark.parametrize(
    ("along", "value"),
    [(-0.2, 3.72708), (-0.1, 3.64607), (0, 2.37155), (0.1, 0.890256), (0.2, 0.207840), (0.31, 0.0)],
)
def test_floor_under_the_edge_of_a_sheet(along: float, value: float) -> None:
    assert under_edge(10, 0.6, 0.4, 0.2, along) == pytest.approx(value, abs=6e-6)
    reading = traced_file("shadow-edge").sensor(f"x {along} m")
    assert value == near(reading, 0.01, of=under_line(10, 0.6, 0.4))


def test_full_shadow_is_dark() -> None:
    assert tuple(traced_file("shadow-edge").sensor("x 0.31 m")) == (0.0, 0.0)


@pytest.mark.parametrize(("height", "edge", "from_x", "length"), [(0.5, 0.4, 0.05, 0.9), (0.3, 0.1, -0.1, 0.4)])
def test_edge_at_other_heights(height: float, edge: float, from_x: float, length: float, tmp_path: Path) -> None:
    places = (-0.3, -0.1, 0.0, 0.15, 0.4)
    text = scene(
        "An edge",
        tube((-length / 2, 0, height), (length / 2, 0, height), 1e-3, 4.0),
        plate("sheet", (from_x, -0.5, edge), (2, 0, 0), (0, 1, 0)),
        *(point(f"x {x}", (x, 0, 0)) for x in places),
        histories=400_000,
        receiver_size=0.5,
    )
    answer = traced_text(text, tmp_path)
    for x in places:
        expected = under_edge(4.0, length, height, edge, x, from_x)
        assert expected == near(answer.sensor(f"x {x}"), 0.01, of=under_line(4.0, length, height))


def test_block_on_the_floor_casts_the_same_shadow_whatever_its_body(tmp_path: Path) -> None:
    # A box hides by its upper edges; the lamp runs along them, so the shadow's edge is sharp but for the lamp's width.
    lamp = tube((-0.3, 0.0, 0.4), (0.3, 0.0, 0.4), 1e-3, 4.0)
    block = '[[parts]]\nname = "block"\nkind = "box"\ncorner = ["-1 m", "0.1 m", "0 m"]\n'
    block += 'size = ["2 m", "0.1 m", "0.1 m"]\nlaw = "black"'
    # From the lamp over the block's far upper edge at y = 0.2, z = 0.1 light reaches the floor at y = 0.2 * 4 / 3.
    lit, dark = 0.2 * 4 / 3 + 0.01, 0.2 * 4 / 3 - 0.01
    meters = (point("lit", (0.0, lit, 0.0)), point("dark", (0.0, dark, 0.0)))
    answer = traced_text(scene("A block", lamp, block, *meters, histories=300_000, receiver_size=0.5), tmp_path)
    assert under_line(4.0, 0.6, 0.4, across=lit) == near(answer.sensor("lit"), 0.005)
    assert tuple(answer.sensor("dark")) == (0.0, 0.0)
