import pickle
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.materials.law import Glossy
from sim.scene.library import material
from sim.scene.load import load_scene
from sim.scene.model import Scene
from sim.units import LENGTH
from tests.support.manual import examples
from tests.support.scene_text import VIVARIUM


def scene_of(text: str = VIVARIUM) -> Scene:
    return Scene.model_validate(tomllib.loads(text))


def test_the_whole_scene_in_si_units() -> None:
    scene = scene_of()
    assert scene.enclosure is not None
    assert scene.enclosure.size == (1.2, 0.6, 0.6)
    lamp = scene.lamps[0]
    assert lamp.kind == "tube"
    assert (lamp.start, lamp.radius, lamp.output.radiant) == ((0.3, 0.3, 0.55), 0.008, 1.5)
    assert scene.zones[0].region == ((0.05, 0.05), (0.25, 0.15))
    assert scene.wall_names == ("floor", "ceiling", "front", "back", "left", "right")
    assert scene.part_surface_names["ledge"][0].startswith("ledge.")


def test_free_space_has_no_walls() -> None:
    (page,) = ["\n\n".join(re.findall(r"    .*", Scene.__doc__ or ""))]
    assert "title" in page
    example: dict[str, Any] = {}
    for piece in examples(Scene):
        example |= piece
    scene = Scene.model_validate(example)
    assert (scene.enclosure, scene.wall_names) == (None, ())


def test_a_law_of_the_scene_wins_over_the_library() -> None:
    text = VIVARIUM.replace("slate", "rock")
    law = scene_of(text).law("rock")
    assert isinstance(law, Glossy)
    assert law != material("rock")
    assert scene_of().law("rock") == material("rock")
    assert scene_of().law(law) is law
    with pytest.raises(KeyError):
        scene_of().law("no such law")


def test_a_scene_goes_to_another_process_and_back() -> None:
    scene = scene_of()
    assert scene.digest == scene_of().digest
    assert pickle.loads(pickle.dumps(scene)) == scene


def in_other_units(text: str) -> str:
    """Say every length of a scene in metres, and reverse the order of its tables."""
    metres = re.sub(r'"(-?[\d.]+) (mm|cm)"', lambda match: f'"{float(match[1]) * LENGTH[match[2]]!r} m"', text)
    assert metres.count(' m"') > 10
    blocks = re.split(r"\n\n(?=\[)", metres)
    return "\n\n".join([blocks[0], *reversed(blocks[1:])])


def test_units_spaces_and_order_do_not_change_a_scene() -> None:
    assert scene_of(in_other_units(VIVARIUM)).digest == scene_of().digest


def test_the_digest_is_sixteen_hexadecimal_digits() -> None:
    assert re.fullmatch(r"[0-9a-f]{16}", scene_of().digest)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"8 mm"', '"8.001 mm"'),
        ("reflectance = 0.3", "reflectance = 0.31"),
        ('floor = "sand-dry"', 'floor = "sand-wet"'),
        ("histories = 1000", "histories = 1001"),
        ('name = "ledge"', 'name = "ledge"\nreachable = false'),
    ],
)
def test_every_change_of_meaning_changes_the_digest(old: str, new: str) -> None:
    assert VIVARIUM.count(old) == 1
    assert scene_of(VIVARIUM.replace(old, new)).digest != scene_of().digest


def test_the_digest_follows_the_content_of_files_not_their_place(tmp_path: Path) -> None:
    def digest(folder: str, table: str) -> str:
        place = tmp_path / folder
        place.mkdir()
        (place / "lamp.csv").write_text(table)
        text = VIVARIUM.replace('"uvb-phosphor-306"', '{ csv = "lamp.csv" }')
        (place / "scene.toml").write_text(text)
        return load_scene(place / "scene.toml").digest

    table = "wavelength_nm,power\n290,0\n310,1\n330,0\n"
    assert digest("one", table) == digest("two", table)
    assert digest("three", table.replace("310", "311")) != digest("one more", table)


LENGTHS = st.tuples(st.integers(1, 400), st.sampled_from(["mm", "cm", "in"]))


@st.composite
def documents(draw: st.DrawFn) -> tuple[dict[str, Any], list[tuple[float, float, float]]]:
    """A scene in free space of tubes side by side, and the ends that they should have in metres."""
    lamps, ends = [], []
    for index in range(draw(st.integers(1, 4))):
        length, unit = draw(LENGTHS)
        lamps.append(
            {
                "name": f"lamp {index}",
                "kind": "tube",
                "from": ["0 m", f"{index} m", "0 m"],
                "to": [f"{length} {unit}", f"{index} m", "0 m"],
                "radius": f"{length / 50} {unit}",
                "spectrum": draw(st.sampled_from(["uvb-phosphor-306", "uva-phosphor-351"])),
                "output": {"radiant": f"{draw(st.integers(1, 900))} mW"},
                "level": draw(st.floats(0.0, 1.0)),
            }
        )
        ends.append((length * LENGTH[unit], float(index), 0.0))
    return {"title": draw(st.text(min_size=1)), "lamps": lamps, "run": {"seed": draw(st.integers(0, 2**63 - 1))}}, ends


@given(documents())
def test_what_is_written_is_what_is_read(case: tuple[dict[str, Any], list[tuple[float, float, float]]]) -> None:
    document, ends = case
    scene = Scene.model_validate(document)
    assert [lamp.end for lamp in scene.lamps if lamp.kind == "tube"] == [pytest.approx(end) for end in ends]
    assert [lamp.level for lamp in scene.lamps] == [lamp["level"] for lamp in document["lamps"]]
    again = Scene.model_validate(document)
    assert (again, again.digest) == (scene, scene.digest)
    assert pickle.loads(pickle.dumps(scene)).digest == scene.digest
