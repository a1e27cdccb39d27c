"""Which of the processor's kernels a run calls: those that are compiled ahead, and no others."""

import numpy as np
import pytest

from sim.commands.kernels_ahead import OF_CARD, OF_CARD_WITH_SECTIONS, OF_RUN
from sim.simulate import run, simulate, trace
from sim.simulate.ahead import KERNELS
from tests.support.scene_text import VIVARIUM
from tests.support.setups import scene_of


class _Sums:
    """What a card gives that found no light."""

    def _asdict(self) -> dict[str, object]:
        return {}


class _Card:
    """A card that traces nothing."""

    def photons(self, *_: object) -> _Sums:
        return _Sums()

    def paths(self, *_: object) -> float:
        return 0.0

    direct = paths


@pytest.mark.parametrize(
    ("on_card", "sections", "last"),
    [(False, False, OF_RUN), (True, False, OF_CARD), (True, True, OF_CARD_WITH_SECTIONS)],
    ids=["processor", "card", "card with sections"],
)
def test_a_run_calls_the_kernels_that_are_compiled_ahead(
    on_card: bool, sections: bool, last: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    called: set[str] = set()
    for name in KERNELS:
        monkeypatch.setattr(trace, name, lambda *_, name=name: called.add(name))
    monkeypatch.setattr(run, "_card", lambda compiled: _Card())
    result = simulate(scene_of(VIVARIUM), histories=64, on_card=on_card, sections=sections)
    assert set(last) == called - (set() if on_card else {"gather_direct"})
    assert not np.any(result.irradiance)
