"""Links to lit places: the same in any steps, no light where none is, and the light that photons bring."""

import numpy as np
import pytest
from scipy.stats import t

from sim.transport import links
from sim.transport.arrays import F64
from sim.transport.links import gather_links
from sim.transport.photons import Sums, trace_photons
from tests.support.mirror_light import DOWN, mirror
from tests.support.scene_blocks import lengths, matt, plate, scene, spot
from tests.support.setups import Setup, setup_of, with_links
from tests.support.significance import sidak
from tests.support.sizes import COMPILED, sized
from tests.support.two_lamps import RICHEST, SCENES

pytestmark = pytest.mark.tiny

FALSE_ALARM = 0.001
LAMP, SEED = 1, 17


def linked(made: Setup, replicate: int, first: int, batches: int, total: F64 | None = None) -> F64:
    """Sums over two links of each receiver with every batch, (q, b)."""
    count, bands = len(made.compiled.effort), made.compiled.model.emitters.live.shape[1]
    total = np.zeros((count, bands)) if total is None else total
    gather_links(made.compiled.model, LAMP, replicate, first, batches, np.full(count, 2), SEED, total)
    return total


@pytest.mark.parametrize("name", ["matt", RICHEST])
def test_batches_one_by_one_are_batches_at_once(name: str) -> None:
    made = setup_of(SCENES[name])
    at_once = linked(made, 3, 0, 3)
    assert at_once.sum() > 0.0
    np.testing.assert_array_equal(at_once, linked(made, 3, 1, 2, linked(made, 3, 0, 1)))
    assert not np.array_equal(at_once, linked(made, 4, 0, 3))


def test_room_for_lit_places_grows(monkeypatch: pytest.MonkeyPatch) -> None:
    if COMPILED:
        pytest.skip("compiled constants stand; plain Python takes another")
    made = setup_of(SCENES["matt"])
    enough = linked(made, 0, 0, 1)
    monkeypatch.setattr(links, "_ROOM", links.CANDIDATES + 1)
    np.testing.assert_array_equal(enough, linked(made, 0, 0, 1))


def test_black_walls_light_nothing() -> None:
    made = setup_of(SCENES["matt"])
    made.compiled.model.laws.diffuse[:] = 0.0
    assert linked(made, 0, 0, 1).max() == 0.0


@pytest.mark.parametrize("tilt", [0.0, 0.013])
def test_a_matt_back_lights_nothing_before_its_mirror(tilt: float) -> None:
    """A beam falls on a plate that is matt above and a mirror below, where no light comes."""
    grid = (
        f'[[sensors]]\nname = "grid"\nkind = "grid"\ncorner = {lengths((-0.1, -0.1, 0.0))}\n'
        f"edge_u = {lengths((0.2, 0, 0))}\nedge_v = {lengths((0, 0.2, 0))}\ncells = [2, 2]"
    )
    shade = plate("plate", (-0.3, -0.3, 0.1), (0.6, 0, tilt), (0, 0.6, 0), matt(0.8)) + f"\nback = {mirror(0.9)}"
    text = scene("A plate", spot((0, 0, 0.3), DOWN, 0.01, 'beam = "20 deg"'), shade, grid, histories=1)
    model = setup_of(text).compiled.model
    count = len(model.receivers.origin)
    total = np.zeros((count, model.emitters.live.shape[1]))
    gather_links(model, 0, 0, 0, sized(4, 1), np.full(count, 8), SEED, total)
    assert total[:4].max() == 0.0


def test_a_receiver_without_links_stays_dark() -> None:
    made = setup_of(SCENES["matt"])
    count = len(made.compiled.effort)
    wanted, total = np.zeros(count, dtype=np.int64), np.zeros((count, made.compiled.model.emitters.live.shape[1]))
    wanted[1] = 3
    gather_links(made.compiled.model, LAMP, 0, 0, 2, wanted, SEED, total)
    assert [1] == np.flatnonzero(total.sum(axis=1)).tolist()


@pytest.mark.parametrize("name", ["matt", RICHEST])
def test_links_and_short_crossings_bring_what_crosses(name: str) -> None:
    """Photons alone against links, and the photons that make up for those that are too strong."""
    batches, photons, replicates = sized(64, 1), sized(4000, 30), sized(32, 4)
    made = setup_of(SCENES[name])
    first, nu, nv, _ = made.compiled.model.planes.cells[0]
    rows = slice(int(first), int(first + nu * nv))
    area = made.compiled.area[made.compiled.cells :][rows].sum()
    by_photons = np.array([crossings(made, r, photons)[rows].sum() for r in range(replicates)]) / area / photons
    short = np.array([crossings(with_links(made), 100 + r, photons)[rows].sum() for r in range(replicates)])
    places = np.array([linked(made, r, 0, batches)[rows].sum(axis=1).mean() for r in range(replicates)])
    by_links = places / (2 * batches) + short / area / photons
    assert places.min() > 0.0
    error = np.sqrt((by_photons.var(ddof=1) + by_links.var(ddof=1)) / replicates)
    limit = float(t.isf(0.5 * sidak(FALSE_ALARM, 2), replicates - 1))
    assert abs(by_photons.mean() - by_links.mean()) < limit * error


def crossings(made: Setup, replicate: int, photons: int) -> F64:
    """Weight of photons that cross each gathered receiver, in all bands together, (q,)."""
    compiled = made.compiled
    bands = compiled.model.emitters.live.shape[1]
    rooms = (compiled.cells, len(compiled.effort), len(compiled.surface_names))
    cells, crossed, absorbed, straight = (np.zeros((room, bands)) for room in (*rooms, rooms[2]))
    escaped, unfinished = np.zeros(bands), np.zeros(bands)
    into = Sums(cells, crossed, absorbed, escaped, unfinished, straight)
    trace_photons(compiled.model, LAMP, replicate, 0, photons, SEED, into)
    return crossed.sum(axis=1)
