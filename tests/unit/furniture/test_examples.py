"""The examples in the manual pages of parts."""

from pathlib import Path

import pytest
import trimesh

from sim.furniture.box import Box
from sim.furniture.branch import Branch
from sim.furniture.hide import Entrance, Hide
from sim.furniture.imported import Imported
from sim.furniture.ledge import Ledge
from sim.furniture.part_base import PartBase
from sim.furniture.plant import Plant
from sim.furniture.plate import Plate
from sim.furniture.sphere import Sphere
from tests.support.manual import examples
from tests.unit.furniture.part_specs import part

PAGES = [Box, Ledge, Branch, Hide, Plate, Sphere, Plant, Imported]


@pytest.mark.parametrize("page", PAGES)
def test_example_of_a_part(page: type[PartBase], tmp_path: Path) -> None:
    trimesh.creation.box((40.0, 50.0, 60.0)).export(tmp_path / "root.stl")
    (example,) = examples(page)
    (keys,) = example["parts"]
    found = part(keys, tmp_path)
    assert isinstance(found, page)
    surfaces = found.surfaces(0.05)
    assert tuple(surface.name for surface in surfaces) == found.surface_names
    for surface in surfaces:
        assert surface.mesh.areas.min() > 0.0
        assert (surface.frame is None) != (surface.patches is None)
        if surface.patches is not None:
            assert len(surface.patches) == len(surface.mesh.faces)
            assert set(surface.patches.tolist()) == set(range(surface.patches.max() + 1))


@pytest.mark.parametrize("page", [*PAGES, Entrance])
def test_page_explains_every_key_that_the_part_adds(page: type[PartBase]) -> None:
    added = set(page.model_fields) - set(PartBase.model_fields) - {"kind"}
    explained = {line.split()[0] for line in (page.__doc__ or "").splitlines() if line.strip()}
    assert added - explained == set()


def test_example_of_an_entrance() -> None:
    (example,) = examples(Entrance)
    assert Entrance.model_validate(example["opening"]).shift == pytest.approx(-0.05)
