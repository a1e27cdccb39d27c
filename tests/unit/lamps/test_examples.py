"""The examples in the manual pages of lamps, emission and output."""

import pytest

from sim.lamps.compact import Helix
from sim.lamps.emission import Emission
from sim.lamps.lamp import LampBase
from sim.lamps.limbs import Limbs
from sim.lamps.output import Output
from sim.lamps.panel import Panel
from sim.lamps.spot import Spot
from sim.lamps.tube import Tube
from tests.support.manual import examples
from tests.unit.lamps.lamp_specs import lamp


@pytest.mark.parametrize("page", [Tube, Limbs, Helix, Panel, Spot])
def test_example_of_a_lamp(page: type[LampBase]) -> None:
    (example,) = examples(page)
    (keys,) = example["lamps"]
    found = lamp(keys)
    assert isinstance(found, page)
    assert found.shape().lit_area > 0.0


@pytest.mark.parametrize("page", [Tube, Limbs, Helix, Panel, Spot])
def test_page_explains_every_key_that_the_lamp_adds(page: type[LampBase]) -> None:
    added = set(page.model_fields) - set(LampBase.model_fields) - {"kind", "form"}
    keys = {page.model_fields[field].alias or field for field in added}
    explained = {line.split()[0] for line in (page.__doc__ or "").splitlines() if line.strip()}
    assert keys - explained == set()


def test_example_of_an_emission() -> None:
    (example,) = examples(Emission)
    found = Emission.model_validate(example["lamps"]["spectrum"])
    assert (1, 1) == (len(found.lines), len(found.bands))


def test_examples_of_the_five_ways_of_output() -> None:
    ways = [Output.model_validate(example["output"]).way for example in examples(Output)]
    assert ways == ["uvi", "radiant", "uvb", "readings", "electrical"]
