"""README.md against the program: examples that load, keys, defaults, names and options that are there."""

import re
import struct
import tomllib
from pathlib import Path
from typing import Annotated, Any

import click
import pytest
from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo

from sim.cli import COMMANDS, vivray
from sim.lamps.tube import Tube
from sim.report.receivers import PLACE_COLUMNS
from sim.report.summary import run_summary
from sim.report.write import NAMES
from sim.scene.library import lamp_spectrum_names, material_names, screen_names
from sim.scene.model import Scene
from sim.spec import Spec
from tests.support.markdown import Block, Section, parse
from tests.support.photometric_files import cosine, lm63, values, written
from tests.support.synthetic_result import terrarium

pytestmark = pytest.mark.system

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SECTIONS, BLOCKS = parse(README)
TOML = [block for block in BLOCKS if block.language == "toml"]

SECTION_OF = {
    "Age": "Age",
    "Animal": "Animal",
    "Band": "Bands",
    "Black": "black",
    "Blend": "Mix",
    "Box": "Ledge and box",
    "Branch": "Branch",
    "Curve": "curve",
    "Emission": "Spectrum",
    "Enclosure": "Enclosure",
    "Entrance": "Entrance",
    "Envelope": "Envelope",
    "Facets": "facets",
    "Flat": "flat",
    "Glossy": "glossy",
    "Grid": "Grid",
    "Helix": "Compact lamp of one coil",
    "Hide": "Hide",
    "Imported": "Mesh",
    "Involute": "involute",
    "Lambertian": "lambertian",
    "Leaf": "leaf",
    "Ledge": "Ledge and box",
    "Limbs": "Compact lamp of limbs",
    "Line": "Lines",
    "Metal": "metal",
    "Mirror": "mirror",
    "Opening": "Openings",
    "Output": "Output",
    "Panel": "Panel",
    "Parabola": "parabola",
    "Plane": "Plane",
    "Plant": "Plant",
    "Plate": "Plate",
    "Point": "Point",
    "Reading": "Readings",
    "Run": "Run",
    "Scene": "The file as a whole",
    "Screen": "screen",
    "Sheet": "sheet",
    "Sphere": "Sphere",
    "Spot": "Spot",
    "Table": "Laws",
    "Target": "Target",
    "Trough": "trough",
    "Tube": "Tube",
    "Vee": "vee",
    "Walls": "Walls",
    "WarmUp": "Warm-up",
    "Zone": "Zones",
}
"""The heading under which README explains each table of a scene file."""


def specs_of(annotation: object, found: dict[str, type[Spec]]) -> dict[str, type[Spec]]:
    """Return every spec class that a type can hold, by name."""
    if isinstance(annotation, type) and issubclass(annotation, Spec) and annotation.__name__ not in found:
        found[annotation.__name__] = annotation
        for item in annotation.model_fields.values():
            specs_of(item.annotation, found)
    for part in getattr(annotation, "__args__", ()):
        specs_of(part, found)
    return found


SPECS = specs_of(Scene, {})


def section(title: str, *, in_scene_file: bool = True) -> Section:
    named = [item for item in SECTIONS if item.title == title]
    if in_scene_file:
        named = [item for item in named if any(above.title == "The scene file" for above in item.above)]
    assert len(named) == 1, f"{len(named)} headings '{title}'"
    return named[0]


def key_rows(item: Section) -> dict[str, str]:
    """Return the last cell of each row whose first is one key."""
    return {row[0].strip("`"): row[-1] for row in item.rows if len(row) == 3 and re.fullmatch(r"`\w+`", row[0])}


def documented(title: str) -> dict[str, str]:
    """Return the keys that a section documents, those of the headings above it included, each with its default."""
    own = section(title)
    chain = [above for above in own.above if above.title != "The scene file"]
    # A lamp's keys stand under "Lamps" too, a wall's do not stand under "Enclosure".
    shared = [above for above in chain if above.title in ("Lamps", "Reflectors", "Parts") and own.level == 4]
    rows: dict[str, str] = {}
    for item in (*shared, own):
        rows |= key_rows(item)
    return rows


def fields(spec: type[Spec]) -> dict[str, FieldInfo]:
    return {item.alias or name: item for name, item in spec.model_fields.items()}


def test_every_table_of_a_scene_file_has_a_section() -> None:
    assert SECTION_OF.keys() == SPECS.keys()


@pytest.mark.parametrize("name", sorted(SPECS))
class TestTable:
    def test_every_key_is_explained(self, name: str) -> None:
        assert set() == fields(SPECS[name]).keys() - documented(SECTION_OF[name]).keys()

    def test_no_key_is_explained_that_is_not_there(self, name: str) -> None:
        assert set() == key_rows(section(SECTION_OF[name])).keys() - fields(SPECS[name]).keys()

    def test_what_is_needed_is_called_so(self, name: str) -> None:
        rows = documented(SECTION_OF[name])
        required = {key for key, item in fields(SPECS[name]).items() if item.is_required()}
        # A part's law is needed but for a plant, whose own row says so.
        assert required <= {key for key, default in rows.items() if default == "needed"}
        optional = fields(SPECS[name]).keys() - required
        assert set() == {key for key in optional if rows[key] == "needed"}

    def test_defaults_are_those_of_the_program(self, name: str) -> None:
        rows = documented(SECTION_OF[name])
        said = {key: rows[key] for key, item in fields(SPECS[name]).items() if is_literal(item.default)}
        assert [] == [f"{key}: {cell}" for key, cell in said.items() if not re.fullmatch("`.+`", cell)]
        told = {key: value_in_file(fields(SPECS[name])[key], cell.strip("`")) for key, cell in said.items()}
        assert {key: fields(SPECS[name])[key].default for key in said} == told


def is_literal(default: object) -> bool:
    """Whether a default can be written into a file: not where leaving the key out means something of its own."""
    if isinstance(default, BaseModel):
        return bool(default.model_fields_set)
    return isinstance(default, bool | int | float | str) or (isinstance(default, tuple) and bool(default))


def value_in_file(item: FieldInfo, literal: str) -> object:
    value = tomllib.loads(f"x = {literal}")["x"]
    annotated = Annotated[item.annotation, *item.metadata] if item.metadata else item.annotation  # type: ignore[valid-type]
    return TypeAdapter(annotated).validate_python(value)


def is_scene(document: dict[str, Any]) -> bool:
    return {"title", "lamps"} <= document.keys()


FRAME = """
title = "A frame for fragments"

[enclosure]
size = ["120 cm", "60 cm", "60 cm"]
walls = { all = "melamine-white" }

[[lamps]]
name = "tube"
kind = "tube"
from = ["30 cm", "30 cm", "55 cm"]
to = ["85 cm", "30 cm", "55 cm"]
radius = "8 mm"
spectrum = "uvb-phosphor-306"
output = { radiant = "1.5 W" }

[[parts]]
name = "ledge"
kind = "ledge"
corner = ["70 cm", "30 cm", "25 cm"]
size = ["40 cm", "20 cm", "2 cm"]
law = "rock"

[[zones]]
name = "floor zone"
role = "basking"
surface = "floor"
"""
INNER = {"output": ("lamps", 0), "spectrum": ("lamps", 0), "target": ("zones", 0)}
"""Where a key belongs that README shows without its table."""


def framed(fragment: dict[str, Any]) -> dict[str, Any]:
    """Return the frame with a fragment put in; what has the name of a thing of the frame takes its place."""
    whole = tomllib.loads(FRAME)
    for key, value in fragment.items():
        if key in INNER:
            table, index = INNER[key]
            whole[table][index][key] = value
        elif isinstance(value, list):
            names = {item.get("name") for item in value}
            whole[key] = [item for item in whole.get(key, []) if item["name"] not in names] + value
        elif key == "enclosure" and {"size", "mesh"}.isdisjoint(value):
            whole[key] |= value
        else:
            whole[key] = value
    return whole


def pieces(block: Block) -> list[dict[str, Any]]:
    """Return what a block says; a block of lines without a table shows several ways, one a paragraph."""
    if re.search(r"^\[", block.text, re.MULTILINE):
        return [tomllib.loads(block.text)]
    return [tomllib.loads(piece) for piece in block.text.split("\n\n")]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the files that examples name."""
    triangle = struct.pack("<12fH", *(0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 90.0, 0.0, 0.0, 0.0, 90.0, 0.0), 0)
    for name in ("room.stl", "root.stl"):
        (tmp_path / name).write_bytes(bytes(80) + struct.pack("<I", 1) + triangle)
    written(tmp_path, "spot.ies", lm63(values(cosine, [0.0, 45.0, 90.0], [0.0]), [0.0, 45.0, 90.0]))
    (tmp_path / "lamp.csv").write_text("300, 1\n310, 2\n320, 1\n", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("block", TOML, ids=lambda block: f"line {block.line}")
def test_every_example_of_a_scene_loads(block: Block, folder: Path) -> None:
    for piece in pieces(block):
        whole = piece if is_scene(piece) else framed(piece)
        assert Scene.model_validate(whole, context={"folder": folder}).lamps


def test_there_is_a_whole_scene_among_the_examples() -> None:
    assert any(is_scene(piece) for block in TOML for piece in pieces(block))


def test_the_frame_refuses_a_wrong_fragment() -> None:
    with pytest.raises(ValueError, match="radis"):
        Scene.model_validate(framed({"parts": [{"name": "x", "kind": "sphere", "radis": "1 cm"}]}))


def test_the_default_of_a_quantity_is_read_with_its_unit() -> None:
    assert 1.0 == value_in_file(Tube.model_fields["level"], '"100 %"')


def test_every_name_of_the_library_is_listed() -> None:
    materials = {row[0].strip("`") for row in section("Materials", in_scene_file=False).rows}
    spectra = {row[0].strip("`") for row in section("Lamp spectra", in_scene_file=False).rows}
    screens = {row[0].strip("`") for row in section("Screens", in_scene_file=False).rows}
    assert (set(material_names()), set(lamp_spectrum_names())) == (materials, spectra)
    assert set(screen_names()) == screens


def test_every_command_and_option_is_explained() -> None:
    context = click.Context(vivray)
    for name in COMMANDS:
        command = vivray.get_command(context, name)
        assert command is not None
        told = {row[0].strip("`").split()[0] for row in section(name, in_scene_file=False).rows}
        options = {item.opts[0] for item in command.params if isinstance(item, click.Option)}
        assert options == told, name


def keys_of(value: object) -> set[str]:
    if isinstance(value, dict):
        return {*value, *(key for inner in value.values() for key in keys_of(inner))}
    return {key for inner in value for key in keys_of(inner)} if isinstance(value, list) else set()


def test_every_key_of_the_json_object_is_explained() -> None:
    summary = run_summary(terrarium(strength=9.0))
    assert summary["hot_spots"], "the result must show every key"
    del summary["energy"]["absorbed_by_W"], summary["energy"]["absorbed_by_se"]  # their keys are names of surfaces
    # What follows from an extreme or an error is explained once for all of them.
    stems = {re.sub(r"_(se|ci95|on_map|bound|where)$", "", key) for key in keys_of(summary)}
    named = set(re.findall(r"`(\w+)`", README))
    units = {re.sub(r"_W(_m2)?$", "", name) for name in named}
    assert set() == stems - named - units


def test_every_file_of_a_run_is_explained() -> None:
    told = {row[0].strip("`") for row in section("Files of a run", in_scene_file=False).rows}
    assert {*NAMES.values(), "result.npz"} == told
    assert {"kind", "name", "cell", "area_m2"} <= set(PLACE_COLUMNS)


def test_every_scene_is_listed() -> None:
    rows = section("What a run prints", in_scene_file=False).rows
    listed = {row[0].strip("`") for row in rows}
    assert {f"scenes/{path.name}" for path in (ROOT / "scenes").glob("*.toml")} == listed


def test_links_within_the_page_lead_somewhere() -> None:
    anchors: list[str] = []
    for item in SECTIONS:
        anchor = re.sub(r"[^\w -]", "", item.title.lower()).replace(" ", "-")
        anchors.append(f"{anchor}-{anchors.count(anchor)}" if anchor in anchors else anchor)
    links = set(re.findall(r"\]\(#([\w-]+)\)", README))
    assert set() == links - set(anchors)


def test_the_test_command_is_the_block_after_its_mark() -> None:
    _, _, after = README.partition("<!-- tests -->\n")
    assert after.startswith("```")
    block = after.split("```")[1]
    assert "pip install -q -e '.[dev]' && .venv/bin/pytest -q" in block
