"""The card's kernels that are compiled beside a first run are those that the run comes to need."""

import numba
import numpy as np
import pytest

from sim.commands.kernels_ahead import OF_CARDS_OWN, _shares_on_card
from tests.support.scene_text import VIVARIUM
from tests.support.setups import scene_of

SIMULATED = bool(getattr(numba.config, "ENABLE_CUDASIM"))  # noqa: B009  # numba sets its options at run time only
on_a_card = pytest.mark.skipif(not SIMULATED, reason="needs NUMBA_ENABLE_CUDASIM=1, as .ci/run sets")


@pytest.fixture
def launched(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Return names of the kernels that are launched, of which none does anything."""
    from sim.transport.gpu import card

    names: set[str] = set()
    monkeypatch.setattr(card, "launch", lambda kernel, *_, **__: names.add(kernel.fn.__name__))
    return names


@pytest.mark.tiny
@on_a_card
def test_they_are_those_of_a_run(launched: set[str]) -> None:
    from sim.simulate import simulate
    from sim.simulate.ahead_on_card import main

    main(list(OF_CARDS_OWN))
    ahead = launched.copy()
    assert {f"_{kernel}_64" for kernel in OF_CARDS_OWN} == {name for name in ahead if name.startswith("_")}
    launched.clear()
    simulate(scene_of(VIVARIUM), histories=64, on_card=True)
    own = {name.split("_")[1] for name in launched if name.startswith("_")}
    assert set(OF_CARDS_OWN) == own


@pytest.mark.tiny
@on_a_card
def test_readings_in_one_band_need_the_same_kernels_for_rays(launched: set[str]) -> None:
    from sim.transport.gpu.card import Card
    from tests.support.setups import setup_of
    from tests.support.two_lamps import SCENES

    model = setup_of(next(iter(SCENES.values()))).compiled.model
    live = model.emitters.live
    for bands in (1, 8, 43, 64):
        emitters = model.emitters._replace(live=np.ones((len(live), bands)))
        card = Card(model._replace(emitters=emitters), 1, 1)
        none, one = np.zeros(1, dtype=np.int64), np.ones(1, dtype=np.int64)
        card.paths(0, none, one, one > 0, 1)
        card.direct(0, none, one, one > 0, 1)
    assert {"_paths_64", "_direct_64"} == {name for name in launched if name.startswith("_")}


@pytest.mark.parametrize(
    ("cores", "programs"), [(-1, 0), (0, 0), (1, 1), (2, 1), (3, 3), (15, 3)], ids=lambda value: str(value)
)
def test_where_cores_are_few_one_program_compiles_all(cores: int, programs: int) -> None:
    shares = _shares_on_card(OF_CARDS_OWN, cores)
    assert programs == len(shares)
    assert [kernel for share in shares for kernel in share] == list(OF_CARDS_OWN if programs else ())
    assert [] == _shares_on_card((), cores)
