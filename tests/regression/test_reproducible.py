"""Same scene and same seed, same bytes: whatever the threads, the stops and the state of files on disk."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from sim.analysis.coverage import SceneAnswer, answer
from sim.report.tables import terminal_tables
from sim.simulate import Interrupted, simulate
from sim.simulate.run import STEP
from sim.simulate.tallies import REPLICATES
from sim.tally.result import Result
from tests.support.damage import DAMAGES
from tests.support.scene_text import VIVARIUM
from tests.support.setups import scene_of

SECOND_LAMP = """
[[lamps]]
name = "panel"
kind = "panel"
corner = ["5 cm", "5 cm", "55 cm"]
edge_u = ["0 cm", "20 cm", "0 cm"]
edge_v = ["15 cm", "0 cm", "0 cm"]
spectrum = "uva-phosphor-351"
output = { radiant = "0.5 W" }

[[reflectors]]"""
SCENE = scene_of(VIVARIUM.replace("[[reflectors]]", SECOND_LAMP, 1).replace('"10 cm"\n', '"20 cm"\n'))
HISTORIES = 5 * STEP * REPLICATES // 2
"""Two lamps of 1.25 steps each, so that steps end at no round count."""


def saved(result: Result, folder: Path) -> bytes:
    path = folder / "saved.npz"
    result.save(path)
    return path.read_bytes()


def stop_after(steps: int) -> Callable[[], bool]:
    done = 0

    def stop() -> bool:
        nonlocal done
        done += 1
        return done >= steps

    return stop


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Bytes of a run without a stop."""
    return saved(simulate(SCENE, histories=HISTORIES), tmp_path_factory.mktemp("whole"))


def test_threads_change_nothing(whole: bytes, tmp_path: Path) -> None:
    assert whole == saved(simulate(SCENE, histories=HISTORIES, threads=2), tmp_path)


def test_another_seed_gives_another_result(tmp_path: Path) -> None:
    one, other = (simulate(SCENE, histories=6400, seed=seed) for seed in (1, 2))
    assert not np.array_equal(one.irradiance, other.irradiance)
    assert saved(one, tmp_path) == saved(simulate(SCENE, histories=6400, seed=1), tmp_path)


@pytest.mark.parametrize("seed", [2**32 + 1, 2**63 - 1])
def test_a_seed_beyond_32_bits_is_a_seed_of_its_own(seed: int) -> None:
    small, large = simulate(SCENE, histories=6400, seed=1), simulate(SCENE, histories=6400, seed=seed)
    assert not np.array_equal(small.irradiance, large.irradiance)


@pytest.mark.parametrize("steps", [2, 3])
def test_a_stopped_run_goes_on_as_if_nothing_had_been(whole: bytes, steps: int, tmp_path: Path) -> None:
    checkpoint = tmp_path / "unfinished.npz"
    part = simulate(SCENE, histories=HISTORIES, checkpoint=checkpoint, stop=stop_after(steps))
    assert 0 < part.meta.histories < HISTORIES
    assert checkpoint.is_file()
    seen = []
    rest = simulate(
        SCENE, histories=HISTORIES, checkpoint=checkpoint, threads=2, report=lambda now: seen.append(now.histories)
    )
    assert min(seen) > part.meta.histories
    assert whole == saved(rest, tmp_path)


def test_a_run_stopped_before_all_lamps_had_photons_goes_on_too(whole: bytes, tmp_path: Path) -> None:
    checkpoint = tmp_path / "unfinished.npz"
    with pytest.raises(Interrupted):
        simulate(SCENE, histories=HISTORIES, checkpoint=checkpoint, stop=stop_after(1))
    assert checkpoint.is_file()
    assert whole == saved(simulate(SCENE, histories=HISTORIES, checkpoint=checkpoint), tmp_path)


def test_a_stopped_run_with_a_wanted_error_ends_at_the_same_count(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It looks at its error after the same counts of photons as a run without a stop, and so ends with the same one."""
    monkeypatch.setattr("sim.simulate.run.STEP", 40)
    wanted, seen = 0.02, list[int]()
    straight = simulate(SCENE, error=wanted, report=lambda now: seen.append(now.histories))
    assert len(seen) > 20
    for steps in (3, 8, 15):
        checkpoint = tmp_path / f"unfinished {steps}.npz"
        part = simulate(SCENE, error=wanted, checkpoint=checkpoint, stop=stop_after(steps))
        assert part.meta.histories < straight.meta.histories
        rest = simulate(SCENE, error=wanted, checkpoint=checkpoint)
        assert straight.meta.histories == rest.meta.histories
        assert saved(straight, tmp_path) == saved(rest, tmp_path)


@pytest.mark.parametrize(("looks", "kept"), [(3, True), (4, True), (5, True), (6, True), (7, False)])
def test_a_stop_after_the_last_photon_keeps_them_too(looks: int, kept: bool, tmp_path: Path) -> None:
    """Two looks after a step of each lamp, one before the sections, two in them, one after; an end leaves nothing."""
    checkpoint = tmp_path / "unfinished.npz"
    found = simulate(SCENE, histories=64 * 200, checkpoint=checkpoint, sections=True, stop=stop_after(looks))
    assert (looks > 5) == bool(found.of_kind("section"))
    assert kept == checkpoint.exists()


@pytest.mark.parametrize("kept", ["zones", "no zones, no sensors"])
def test_what_is_told_soon_is_what_the_whole_run_tells(kept: str) -> None:
    bare = VIVARIUM[: VIVARIUM.index("[[sensors]]")] + VIVARIUM[VIVARIUM.index("[run]") :]
    scene = scene_of(VIVARIUM if kept == "zones" else bare)
    soon: list[Result] = []
    whole = simulate(scene, histories=64 * 400, sections=True, soon=soon.append)
    (first,) = soon
    assert whole.of_kind("section")
    assert not first.of_kind("section")
    assert (kept == "zones") != bool(first.of_kind("surface"))
    assert words(answer(whole)) == words(answer(first))


def words(told: SceneAnswer) -> str:
    console = Console(width=200)
    with console.capture() as captured:
        console.print(terminal_tables(told))
    return captured.get()


@pytest.mark.parametrize("kind", DAMAGES)
def test_a_damaged_checkpoint_is_ignored(kind: str, tmp_path: Path) -> None:
    checkpoint = tmp_path / "unfinished.npz"
    simulate(SCENE, histories=64 * 200, checkpoint=checkpoint, stop=stop_after(2))
    checkpoint.write_bytes(DAMAGES[kind](checkpoint.read_bytes()))
    afresh = simulate(SCENE, histories=64 * 100, checkpoint=checkpoint)
    assert 64 * 100 == afresh.meta.histories


def test_a_sound_checkpoint_of_a_longer_run_is_taken_up(tmp_path: Path) -> None:
    """The counterpart of the tests around it: what they see as afresh is not so here."""
    checkpoint = tmp_path / "unfinished.npz"
    simulate(SCENE, histories=64 * 200, checkpoint=checkpoint, stop=stop_after(2))
    assert 64 * 200 == simulate(SCENE, histories=64 * 100, checkpoint=checkpoint).meta.histories


@pytest.mark.parametrize("change", ["scene", "seed"])
def test_a_checkpoint_of_another_run_is_not_taken_up(change: str, tmp_path: Path) -> None:
    checkpoint = tmp_path / "unfinished.npz"
    simulate(SCENE, histories=64 * 200, checkpoint=checkpoint, stop=stop_after(2))
    other = scene_of(VIVARIUM.replace("reflectance = 0.3 }", "reflectance = 0.31 }"))
    scene, seed = (other, None) if change == "scene" else (SCENE, 9)
    afresh = simulate(scene, histories=64 * 100, seed=seed, checkpoint=checkpoint)
    assert 64 * 100 == afresh.meta.histories
