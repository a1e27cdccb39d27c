import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sim.lamps.tube import Tube
from sim.scene.schema import key_meanings, scene_schema
from sim.scene.vocabulary import Vocabulary
from tests.support.scene_text import VIVARIUM, altered

SCENES = sorted((Path(__file__).resolve().parents[3] / "scenes").glob("*.toml"))
SCHEMA = scene_schema()


def tables() -> Iterator[tuple[str, dict[str, Any]]]:
    yield "scene", SCHEMA
    yield from SCHEMA["$defs"].items()


def test_it_says_what_it_is() -> None:
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["title"] == "vivray scene"
    assert SCHEMA["required"] == ["title", "lamps"]


def test_every_table_is_described_in_one_line() -> None:
    assert [name for name, table in tables() if len(table.get("description", "")) < 10] == []
    assert [name for name, table in tables() if "\n" in table["description"]] == []


def test_unknown_keys_are_refused_everywhere() -> None:
    assert [name for name, table in tables() if table["additionalProperties"] is not False] == []


def test_keys_are_those_of_the_file_not_of_the_program() -> None:
    keys = SCHEMA["$defs"]["Tube"]["properties"]
    assert {"from", "to"} <= set(keys)
    assert {"start", "end"}.isdisjoint(keys)


def test_meanings_come_from_the_manual_pages_of_a_spec_and_its_base() -> None:
    meanings = key_meanings(Tube)
    assert meanings["radius"] == "of the tube"
    assert meanings["level"] == "dimming: what is left of the output"
    assert SCHEMA["$defs"]["Tube"]["properties"]["level"]["description"] == meanings["level"]


def test_defaults_could_stand_in_a_file() -> None:
    """A length is text there, so its default in metres is left out; a direction is bare numbers."""
    run = SCHEMA["$defs"]["Run"]["properties"]
    assert run["histories"]["default"] == 2_000_000
    assert "default" not in run["receiver_size"]
    assert "default" not in run["wavelengths"]
    assert SCHEMA["$defs"]["Tube"]["properties"]["facing"]["default"] == [0.0, 0.0, -1.0]
    assert "default" not in SCHEMA["properties"]["run"]


def keys_of(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in entries:
        if isinstance(key, str):
            yield path, key
        yield from keys_of(inner, (*path, key))


def test_the_vocabulary_knows_every_key_of_a_scene() -> None:
    document = tomllib.loads(VIVARIUM)
    vocabulary = Vocabulary(SCHEMA)
    unknown = [
        (path, key)
        for path, key in keys_of(document)
        if path != ("laws",) and key not in vocabulary.keys(document, path)
    ]
    assert unknown == []
    assert vocabulary.keys(document, ("laws",)) == []
    assert "radius" not in vocabulary.keys(document, ("parts", 0))


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_demo_scenes_are_valid(path: Path) -> None:
    jsonschema = pytest.importorskip("jsonschema", reason="jsonschema is not installed")
    jsonschema.Draft202012Validator(SCHEMA).validate(tomllib.loads(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('radius = "8 mm"', "radius = 8"),
        ('radius = "8 mm"', 'radius = "8 parsec"'),
        ('radius = "8 mm"', 'radis = "8 mm"'),
        ('kind = "ledge"', 'kind = "shelf"'),
        ("histories = 1000", "histories = 0"),
        ('to = ["90 cm", "30 cm", "55 cm"]', 'to = ["90 cm", "30 cm"]'),
    ],
)
def test_it_finds_what_the_loader_finds(old: str, new: str) -> None:
    jsonschema = pytest.importorskip("jsonschema", reason="jsonschema is not installed")
    validator = jsonschema.Draft202012Validator(SCHEMA)
    assert validator.is_valid(tomllib.loads(VIVARIUM))
    assert not validator.is_valid(tomllib.loads(altered(old, new)))
