"""Points that may miss what curved mirrors send of a small lamp are named, and no others are."""

import pytest

from sim.analysis.coverage import answer
from sim.report.cautions import cautions
from sim.tally.result import Result
from tests.support.scene_blocks import lengths, matt, plane, plate, point, scene, spot
from tests.support.setups import group_values, setup_of

PHOTONS = 2000
MIRROR = '{ kind = "mirror", reflectance = 0.9 }'
METER = point("meter", (0.05, 0.03, 0.0))


def parabola(law: str) -> str:
    return (
        '[[reflectors]]\nname = "trough"\nprofile = "parabola"\nwidth = "30 cm"\nfocus = "10 cm"\nfacing = [0, 0, -1]\n'
        f"from = {lengths((-0.3, 0, 0.4))}\nto = {lengths((0.3, 0, 0.4))}\nlaw = {law}"
    )


def traced(diameter: float, *blocks: str) -> Result:
    """The lamp shines up, away from the meter."""
    lamp = spot((0, 0, 0.3), (0, 0, 1), diameter)
    return setup_of(scene("A spot below a mirror", lamp, *blocks, histories=1)).result(PHOTONS, 1)


def named(result: Result) -> tuple[str, ...]:
    return result.lamps[0].missed_at


def test_a_small_lamp_in_a_curved_mirror() -> None:
    result = traced(
        1e-3, parabola(MIRROR), METER, plane("wide", (-0.1, -0.1, 0), (0.2, 0, 0), (0, 0.2, 0)), point("up", (0, 0, 1))
    )
    assert named(result) == ("meter", "up")
    lines = [line for line in cautions(answer(result)) if "curved mirrors" in line]
    assert len(lines) == 1
    assert lines[0].startswith("Lamp spot: what curved mirrors send of its light to meter and up may be missing")
    assert "a plane of 5 cm by 5 cm" in lines[0]
    # The plane, which is told instead, does get that light: the lamp sends all of it to the mirror.
    assert group_values(result, "sensor", "wide").mean() > 0.5


def test_a_tiny_plane_is_read_as_a_point_is() -> None:
    tiny = plane("tiny", (0.03, 0.01, 0), (0.04, 0, 0), (0, 0.04, 0))
    assert named(traced(1e-3, parabola(MIRROR), tiny)) == ("tiny",)


@pytest.mark.parametrize(
    ("diameter", "mirror"),
    [
        (0.08, parabola(MIRROR)),
        (1e-3, parabola(matt(0.9))),
        (1e-3, parabola('{ kind = "glossy", reflectance = 0.9, specular_share = 0.9, roughness = 0.1 }')),
        (1e-3, plate("flat", (-0.3, -0.3, 0.4), (0, 0.6, 0), (0.6, 0, 0), MIRROR)),
    ],
)
def test_what_is_met_or_looked_for_is_not_named(diameter: float, mirror: str) -> None:
    assert named(traced(diameter, mirror, METER)) == ()


def test_more_paths_find_it() -> None:
    """The same lamp at another count of photons."""
    text = scene("A spot", spot((0, 0, 0.3), (0, 0, 1), 0.02), parabola(MIRROR), METER, histories=1)
    setup = setup_of(text)
    assert named(setup.result(100, 1)) == ("meter",)
    assert named(setup.result(20_000, 1)) == ()
