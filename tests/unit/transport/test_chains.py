"""Chains of plane mirrors: drawn as often as paths take them to be, and made of what can turn light alone."""

from dataclasses import replace

import numpy as np
import pytest

from sim.transport.arrays import F64, Model
from sim.transport.chains import (
    ALONE,
    ARRIVAL,
    FIRST,
    MOST_TURNS,
    NORMAL,
    NOWHERE,
    PATH_FACING,
    PATH_PLACE,
    RETURNS,
    SCRATCH_ROWS,
    SURFACE,
    TURNS,
    begin_chain,
    chain_numbers,
    has_chains,
    next_turn,
    turn_on,
)
from sim.transport.direct import gather_direct
from sim.transport.paths import gather_paths
from sim.transport.triangles import SURFACE as OF_SURFACE
from tests.support.mirror_light import DOWN, mirror
from tests.support.scene_blocks import box, matt, plate, point, scene, spot
from tests.support.setups import by_paths, setup_of
from tests.support.sizes import COMPILED

pytestmark = pytest.mark.tiny

PANE = '{ kind = "sheet", n = 1.5, k = 0, thickness = "3 mm" }'
WIRES = """[laws.bright]
kind = "screen"
wire = ["0.5 mm", "0.3 mm"]
mesh = 16
reflectance = 0.9"""
SIZE = (1.0, 0.8, 0.6)
X, NORMAL_HERE = (0.6, 0.45, 0.1), (0.6, 0.0, 0.8)


def model_of(walls: dict[str, str], *blocks: str) -> Model:
    parts = spot((0.3, 0.3, 0.5), DOWN, 1e-2), point("meter", X), *blocks
    return setup_of(scene("A box", box(SIZE, walls), *parts, histories=1)).compiled.model


def six_sides() -> Model:
    pane = plate("pane", (0.1, 0.1, 0.3), (0.8, 0, 0.1), (0, 0.6, 0), PANE)
    return model_of({"all": mirror(0.8), "front": PANE}, pane)


def drawn(table: F64, word: int) -> tuple[list[int], list[float], list[int]]:
    """Sides of a chain, its chance after each turn, and the corners of its windows."""
    scratch = np.zeros((SCRATCH_ROWS, 3))
    scratch[0], scratch[1] = X, NORMAL_HERE
    assert begin_chain(scratch, np.uint64(word), 1.0)
    sides, chances, corners, count, chance = [], [], [], 0, 1.0
    for turn in range(MOST_TURNS):
        u, _ = chain_numbers(np.uint64(word), turn, (word + 0.5) / 64.0)
        count, chance = next_turn(table, turn, count, chance, u, scratch)
        if count == 0:
            break
        sides.append(int(scratch[TURNS + turn // 3, turn % 3]))
        chances.append(chance)
        corners.append(count)
    return sides, chances, corners


def test_paths_take_chains_to_be_as_likely_as_they_are_drawn() -> None:
    model = six_sides()
    table, longest = model.mirrors.chain[0], 0
    for word in range(64):
        sides, chances, corners = drawn(table, word)
        scratch = np.zeros((SCRATCH_ROWS, 3))
        scratch[PATH_PLACE], scratch[PATH_FACING] = X, NORMAL_HERE
        side, count, chance, luck = NOWHERE, 0, 0.0, 0.0
        for turn, expected in enumerate(sides):
            triangle = int(np.flatnonzero(model.surfaces.names[:, OF_SURFACE] == int(table[expected, SURFACE]))[0])
            scratch[ARRIVAL] = -table[expected, NORMAL : NORMAL + 3]
            side, count, chance, luck = turn_on(model, 0, triangle, True, turn + 1, scratch, side, count, chance, luck)
            assert (expected, corners[turn]) == (side, count)
            assert chances[turn] == pytest.approx(chance, rel=1e-12)
            assert np.prod(table[sides[: turn + 1], RETURNS]) == pytest.approx(luck, rel=1e-12)
        longest = max(longest, len(sides))
    assert longest > 5


def test_a_path_off_the_sides_can_be_no_chain() -> None:
    model = six_sides()
    scratch = np.zeros((SCRATCH_ROWS, 3))
    assert turn_on(model, 0, 0, False, 1, scratch, NOWHERE, 0, 0.0, 0.0)[0] == NOWHERE
    scratch[PATH_PLACE], scratch[ARRIVAL] = X, (0.0, 0.0, -1.0)
    assert turn_on(model, 0, 0, True, MOST_TURNS + 1, scratch, NOWHERE, 0, 0.0, 0.0)[0] == NOWHERE


@pytest.mark.parametrize(
    ("walls", "chains"),
    [
        ({"all": '"black"'}, False),
        # One mirror has its image, which is found without chains; one pane has none.
        ({"all": '"black"', "left": mirror(0.8)}, False),
        ({"all": '"black"', "left": PANE}, True),
        ({"all": '"black"', "left": mirror(0.8), "floor": mirror(0.8)}, True),
    ],
)
def test_only_what_has_no_image_is_left_to_chains(walls: dict[str, str], chains: bool) -> None:
    assert chains == has_chains(model_of(walls))


def test_mirrors_in_one_plane_make_no_chain() -> None:
    plates = (
        plate(name, (at, 0.2, 0.2), (0.2, 0, 0), (0, 0.2, 0), mirror(0.8))
        for name, at in (("one", 0.2), ("other", 0.6))
    )
    assert not has_chains(model_of({"all": '"black"'}, *plates))


def test_a_side_that_cannot_see_the_lamp_begins_no_chain_unless_others_follow() -> None:
    table = model_of({"all": '"black"'}, plate("pane", (0.1, 0.1, 0.3), (0.8, 0, 0), (0, 0.6, 0), PANE)).mirrors.chain[
        0
    ]
    up = table[:, NORMAL + 2] > 0.0
    assert sorted(up) == [False, True]
    assert (table[up, FIRST] > 0.0).all()
    assert (table[~up, FIRST] == 0.0).all()
    assert (table[:, ALONE] == 1.0).all()


def test_chains_at_matt_places_and_wires_bring_what_paths_bring_without() -> None:
    """A large lamp is met by paths as well: with chains and without, a meter under bright wires reads the same."""
    text = scene(
        "A screen between mirrors",
        box((0.4, 0.4, 0.4), {"all": matt(0.5), "left": mirror(0.9), "right": mirror(0.9)}),
        spot((0.2, 0.2, 0.35), DOWN, 0.2),
        plate("screen", (0.05, 0.05, 0.2), (0.3, 0, 0), (0, 0.3, 0), '"bright"'),
        WIRES,
        point("meter", (0.25, 0.2, 0.1)),
        histories=1,
    )
    made = by_paths(setup_of(text))
    bare = made.compiled.model.mirrors._replace(chain=made.compiled.model.mirrors.chain[:, :0])
    without = replace(made, compiled=replace(made.compiled, model=made.compiled.model._replace(mirrors=bare)))
    replicates, paths = (64, 500) if COMPILED else (8, 6)
    found = []
    for setup, seed in ((made, 1), (without, 2)):
        model, one = setup.compiled.model, np.ones(1, dtype=np.bool_)
        first, points, count = np.zeros(1, dtype=np.int64), np.full(1, 2 * paths), np.full(1, paths)
        total = np.zeros((replicates, 1, model.emitters.live.shape[1]))
        gather_direct(model, 0, 0, 1, first, points, one, seed, total)
        total /= 2 * paths
        for replicate in range(replicates):
            own = np.zeros(total.shape[1:])
            gather_paths(model, 0, replicate, first, count, one, seed, own)
            total[replicate] += own / paths
        values = total.sum(axis=(1, 2))
        found.append((float(values.mean()), float(values.std(ddof=1)) / np.sqrt(replicates)))
    (value, se), (other, other_se) = found
    assert abs(value - other) < 4.0 * np.hypot(se, other_se)
    assert np.hypot(se, other_se) < (0.02 if COMPILED else 0.3) * value
