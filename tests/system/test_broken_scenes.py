"""Each broken scene, through the command line: one line that names file, line, key and remedy, and exit code 2."""

import re
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest
from click.testing import CliRunner

from sim.cli import vivray
from tests.support.photometric_files import cosine, lm63, values, written
from tests.support.scene_text import VIVARIUM, altered, line_with

pytestmark = pytest.mark.system


class Broken(NamedTuple):
    """A scene that is wrong in one place.

    `piece` marks the line that the message must name, `key` the place, `remedy` what would be right.
    """

    text: str
    piece: str
    key: str
    remedy: str


def exchanged(old: str, new: str, key: str, remedy: str, piece: str = "") -> Broken:
    return Broken(altered(old, new), piece or new.splitlines()[-1], key, remedy)


def with_output(output: str, key: str, remedy: str) -> Broken:
    piece = "[[lamps]]" if key == "lamps[0]" else "output = "
    return exchanged('output = { radiant = "1.5 W" }', f"output = {output}", key, remedy, piece)


def with_more(text: str, piece: str, key: str, remedy: str) -> Broken:
    return Broken(f"{VIVARIUM}\n{text}\n", piece, key, remedy)


MESH = '[[parts]] # here\nname = "root"\nkind = "mesh"\nfile = "{}"\nunit = "mm"\nlaw = "cork"'
ZONE = '[[zones]]\nname = "other"\nrole = "passage"\n'
SENSOR = '[[sensors]] # here\nname = "other"\nkind = "point"\n'

BROKEN = {
    "unknown key": exchanged('radius = "8 mm"', 'radius = "8 mm"\nradious = "8 mm"', "lamps[0].radious", "keys here"),
    "misspelt key": exchanged('radius = "8 mm"', 'radis = "8 mm"', "lamps[0].radis", "did you mean 'radius'?"),
    "bare number": exchanged('radius = "8 mm"', "radius = 8", "lamps[0].radius", "write '8 cm' (allowed: um, mm, cm"),
    "number without unit": exchanged('depth = "3 cm"', 'depth = "3"', "reflectors[0].depth", "write '3 cm'"),
    "unknown unit": exchanged('width = "9 cm"', 'width = "9 furlong"', "reflectors[0].width", "allowed: um, mm, cm"),
    "missing mesh": with_more(MESH.format("gone.stl"), '"gone.stl"', "parts[1].file", "not found (looked in"),
    "empty mesh": with_more(MESH.format("empty.stl"), '"empty.stl"', "parts[1].file", "is empty; export it again"),
    "mesh of noise": with_more(MESH.format("noise.stl"), '"noise.stl"', "parts[1].file", "export it again"),
    "mesh without unit": with_more(
        MESH.format("empty.stl").replace('unit = "mm"\n', ""), "# here", "parts[1]", "write unit = 'mm'"
    ),
    "sheet that passes light one way": exchanged(
        'law = "polished-aluminium"',
        'law = "polished-aluminium"\noutside = "glass-clear-4mm"',
        "reflectors[0].outside",
        "give 'law' and 'outside' the same law",
    ),
    "plate that passes light one way": with_more(
        '[[parts]]\nname = "pane"\nkind = "plate"\ncorner = ["10 cm", "10 cm", "10 cm"]\n'
        'edge_u = ["10 cm", "0 cm", "0 cm"]\n'
        'edge_v = ["0 cm", "10 cm", "0 cm"]\nlaw = "leaf"\nback = "black" # here',
        "# here",
        "parts[1].back",
        "give 'law' and 'back' the same law",
    ),
    "lamp outside": Broken(
        altered('"55 cm"]\nto = ["90 cm", "30 cm", "55 cm"]', '"65 cm"]\nto = ["90 cm", "30 cm", "65 cm"]').replace(
            'lamp = "tube"\nwidth',
            'from = ["0 cm", "30 cm", "50 cm"]\nto = ["90 cm", "30 cm", "50 cm"]\nfacing = [0, 0, -1]\nwidth',
        ),
        "[[lamps]]",
        "lamps[0]",
        "cut an opening",
    ),
    "lamp through a wall": Broken(
        altered('to = ["90 cm", "30 cm", "55 cm"]', 'to = ["130 cm", "30 cm", "55 cm"]'),
        "[[lamps]]",
        "lamps[0]",
        "move it in or out",
    ),
    "zone off every surface": exchanged(
        'region = [["5 cm", "5 cm"], ["25 cm", "15 cm"]]',
        'region = [["5 cm", "5 cm"], ["45 cm", "15 cm"]]',
        "zones[0].region",
        "30 cm along u and 20 cm along v; keep both corners on it",
    ),
    "zone on no surface": exchanged(
        'surface = "ledge.top"\nregion',
        'surface = "ledge"\nregion',
        "zones[0].surface",
        "'ledge' has the surfaces ledge.",
        piece='surface = "ledge"',
    ),
    "zone above the ceiling": with_more(
        ZONE + 'surface = "floor"\nheight = "70 cm"', 'height = "70 cm"', "zones[1].height", "lower it"
    ),
    "zone box outside": with_more(
        ZONE + 'box = [["1 cm", "1 cm", "1 cm"], ["130 cm", "2 cm", "2 cm"]]', '"130 cm"', "zones[1].box", "keep both"
    ),
    "negative size": exchanged(
        'size = ["120 cm", "60 cm", "60 cm"]', 'size = ["120 cm", "-60 cm", "60 cm"]', "enclosure.size[1]", "above 0"
    ),
    "reflectance above 1": exchanged(
        "reflectance = 0.3 }", "reflectance = 1.2 }", "enclosure.walls.back.reflectance", "outside 0 to 1"
    ),
    "two walls of one name": exchanged(
        'floor = "sand-dry"', 'floor = "soil"\nfloor = "sand-dry"', "enclosure.walls.floor", "keep one of the two"
    ),
    "part called like a wall": with_more(
        '[[parts]]\nname = "floor"\nkind = "sphere"\ncentre = ["9 cm", "9 cm", "9 cm"]\nradius = "1 cm"\nlaw = "rock"',
        'name = "floor"',
        "parts[1].name",
        "give this part another name",
    ),
    "two things of one name": exchanged('name = "meter"', 'name = "tube" # again', "sensors[0].name", "another name"),
    "not TOML": exchanged('title = "A tube under the lid"', "title = A tube", "title", 'text goes in quotes: "A tube"'),
    "open bracket": exchanged("[[parts]]", "[[parts]", "not TOML", "[[name]]"),
    "unknown law": exchanged('law = "slate"', 'law = "slat"', "parts[0].law", "did you mean 'slate'?"),
    "unknown spectrum": exchanged(
        'spectrum = "uvb-phosphor-306"', 'spectrum = "uvb-306"', "lamps[0].spectrum", "did you mean 'uvb-"
    ),
    "unknown lamp": exchanged(
        'lamp = "tube"\nwidth',
        'lamp = "tub"\nwidth',
        "reflectors[0].lamp",
        "did you mean 'tube'?",
        piece='lamp = "tub"',
    ),
    "unknown surface in reach": exchanged(
        'reach = ["floor", "ledge.top"]', 'reach = ["flor", "ledge.top"]', "animal.reach[0]", "did you mean 'floor'?"
    ),
    "wrong kind": exchanged('kind = "ledge"', 'kind = "shelf"', "parts[0].kind", "allowed: box, ledge"),
    "no kind": exchanged('kind = "ledge"\n', "", "parts[0].kind", 'write kind = "box" or "ledge"', piece="[[parts]]"),
    "key left out": exchanged('radius = "8 mm"\n', "", "lamps[0].radius", 'write radius = "30 cm"', piece="[[lamps]]"),
    "no lamp": Broken('title = "dark"\n', "title", "lamps", "add a table [[lamps]]"),
    "text for a law": exchanged(
        'back = { kind = "lambertian", reflectance = 0.3 }',
        "back = 0.3",
        "enclosure.walls.back",
        "text in quotes or a table",
    ),
    "histories as a decimal": exchanged("histories = 1000", "histories = 1e3", "run.histories", "write a whole number"),
    "too many receivers": exchanged(
        'receiver_size = "10 cm"', 'receiver_size = "0.5 mm"', "run.receiver_size", "raise receiver_size"
    ),
    "lamp without power in range": exchanged(
        "histories = 1000",
        'histories = 1000\nwavelengths = ["600 nm", "700 nm"]',
        "lamps[0].spectrum",
        "widen them",
        piece='spectrum = "uvb-phosphor-306"',
    ),
    "empty table of readings": with_output('{ readings = [], setting = "bare" }', "lamps[0].output", "at = '30 cm'"),
    "reading of nothing": with_output(
        '{ readings = [{ at = "30 cm", error = "5 %" }], setting = "bare" }',
        "lamps[0].output.readings[0]",
        "either uvi",
    ),
    "reading within the lamp": with_output(
        '{ readings = [{ at = "5 mm", uvi = 3 }], setting = "bare" }', "lamps[0]", "distances count from there"
    ),
    "conversions upside down": with_output(
        '{ electrical = "24 W", uvb_share = "5 %", conversion = ["35 %", "15 %"] }',
        "lamps[0].output.conversion",
        "the lower of two shares comes first",
    ),
    "older than its table": exchanged(
        'radius = "8 mm"\n',
        'radius = "8 mm"\nage = { hours = 9000, left = [[0, "100 %"], [4000, "70 %"]] }\n',
        "lamps[0].age",
        "go from 0 to 4000 hours",
    ),
    "aged twice": exchanged(
        'radius = "8 mm"\n',
        'radius = "8 mm"\nmaintained = "80 %"\nage = { hours = 9, left = [[0, 1.0], [10, 0.7]] }\n',
        "lamps[0]",
        "leave one of them out",
        piece="[[lamps]]",
    ),
    "glass shorter than its light": exchanged(
        'radius = "8 mm"\n', 'radius = "8 mm"\nglass_length = "20 cm"\n', "lamps[0]", "the lit part", piece="[[lamps]]"
    ),
    "dark ends through a wall": exchanged(
        'radius = "8 mm"\n',
        'radius = "8 mm"\ndark_ends = "40 cm"\n',
        "lamps[0]",
        "move it in or out",
        piece="[[lamps]]",
    ),
    "envelope of nothing": exchanged(
        'spectrum = "uvb-phosphor-306"',
        'spectrum = { mix = [{ spectrum = "uvb-phosphor-306" }], envelope = { half = "295 nm" } }',
        "lamps[0].spectrum.envelope",
        "go together",
    ),
    "envelope of unknown glass": exchanged(
        'spectrum = "uvb-phosphor-306"',
        'spectrum = { mix = [{ spectrum = "uvb-phosphor-306" }], envelope = { glass = "glass-clear" } }',
        "lamps[0].spectrum.envelope.glass",
        "did you mean 'glass-clear-4mm'?",
    ),
    "envelope of wood": exchanged(
        'spectrum = "uvb-phosphor-306"',
        'spectrum = { mix = [{ spectrum = "uvb-phosphor-306" }], envelope = { glass = "wood-varnished" } }',
        "lamps[0].spectrum",
        "a law of kind sheet",
    ),
    "two corners for a point": with_more(
        SENSOR + 'at = ["1 cm", "2 cm"]\nnormal = [0, 0, 1]', 'at = ["1 cm", "2', "sensors[1].at", "2 of 3 entries"
    ),
    "sensor looks nowhere": with_more(
        SENSOR + 'at = ["1 cm", "2 cm", "3 cm"]',
        "# here",
        "sensors[1]",
        "normal = [0, 0, 1]",
    ),
    "lamp in a part": exchanged(
        'corner = ["80 cm", "20 cm", "20 cm"]',
        'corner = ["80 cm", "20 cm", "54 cm"]',
        "lamps[0]",
        "move one of them",
        piece="[[lamps]]",
    ),
    "part outside": exchanged(
        'corner = ["80 cm", "20 cm", "20 cm"]',
        'corner = ["180 cm", "20 cm", "20 cm"]',
        "parts[0]",
        "its middle at x 195, y 30, z 21.5 cm; the box is 120 x 60 x 60 cm",
        piece="[[parts]]",
    ),
    "part in a lamp": with_more(
        '[[parts]]\nname = "bead"\nkind = "sphere"\nlaw = "rock"\n'
        'centre = ["60 cm", "30 cm", "55 cm"]\nradius = "4 mm"',
        "[[lamps]]",
        "lamps[0]",
        "part 'bead' lies within its body; move one of them",
    ),
    "one lamp as a table": exchanged("[[lamps]]", "[lamps]", "lamps", "write a list of tables: [[lamps]]"),
    "error of a hundred percent": exchanged("histories = 1000", "error = 1", "run.error", "ask for one such as '1 %'"),
    "range beside its value": exchanged(
        "reflectance = 0.3 }",
        'reflectance = { wavelength = ["300 nm", "400 nm"], value = [0.1, 0.2], low = [0.2, 0.2] } }',
        "enclosure.walls.back.reflectance",
        "'low' is 0.2 at 300 nm, above 'value', 0.1",
    ),
    "curly quotes": exchanged('radius = "8 mm"', "radius = “8 mm”", "radius", "straight quotes"),
    "target that cannot be": exchanged(
        "{ exposure_zone = 3 }", "{ exposure_zone = 3, mean = [1.0, 2.0] }", "zones[0].target", "leave out one of"
    ),
}

SPOT = """[[lamps]] # spot
name = "spot"
kind = "spot"
at = ["20 cm", "30 cm", "50 cm"]
diameter = "9 cm"
spectrum = "uvb-phosphor-306"
output = {{ radiant = "1 W" }}
{}"""
BROKEN |= {
    "spot without a distribution": with_more(SPOT.format(""), "# spot", "lamps[1]", "exactly one of 'distribution'"),
    "spot of a missing file": with_more(
        SPOT.format('distribution = "gone.ies"'), '"gone.ies"', "lamps[1].distribution", "not found (looked in"
    ),
    "spot of a file cut off": with_more(
        SPOT.format('distribution = "short.ies"'),
        '"short.ies"',
        "lamps[1].distribution: short.ies:9: the file ends after 36 of 37 candela values",
        "it is cut off, or a count in it is wrong",
    ),
    "spot of another format": with_more(
        SPOT.format('distribution = "noise.stl"'), '"noise.stl"', "lamps[1].distribution", "use one of .ies, .ldt"
    ),
    "spot with two strengths": with_more(
        SPOT.format('distribution = "short.ies"\nfile_unit = "W/sr"'), "# spot", "lamps[1]", "leave 'output' out"
    ),
    "spot too wide": with_more(SPOT.format('beam = "140 deg"'), '"140 deg"', "lamps[1].beam", "120 deg"),
    "spot with a bare beam": with_more(SPOT.format("beam = 40"), "beam = 40", "lamps[1].beam", "write '40 deg'"),
    "spot beyond a wall": with_more(
        SPOT.format('beam = "40 deg"').replace('"50 cm"]', '"65 cm"]'), "# spot", "lamps[1]", "cut an opening"
    ),
    "spot through the ceiling": with_more(
        SPOT.format('beam = "40 deg"\ndepth = "20 cm"'), "# spot", "lamps[1]", "move it in or out"
    ),
    "spot in a part": with_more(
        SPOT.format('beam = "40 deg"').replace('["20 cm", "30 cm", "50 cm"]', '["95 cm", "30 cm", "21 cm"]'),
        "# spot",
        "lamps[1]",
        "move one of them",
    ),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("broken")
    (place / "empty.stl").touch()
    angles = [2.5 * step for step in range(37)]
    written(place, "short.ies", lm63(values(cosine, angles, [0.0]), angles).rstrip().rsplit(" ", 1)[0])
    (place / "noise.stl").write_bytes(bytes(range(256)) * 2)
    for name, broken in BROKEN.items():
        (place / file_name(name)).write_text(broken.text, encoding="utf-8")
    return place


def file_name(name: str) -> str:
    return f"{name.replace(' ', '-')}.toml"


@pytest.mark.parametrize("name", BROKEN)
def test_one_line_with_file_line_key_and_remedy(folder: Path, name: str) -> None:
    broken, path = BROKEN[name], folder / file_name(name)
    result = CliRunner().invoke(vivray, ["check", str(path)])
    errors = [line for line in result.stderr.splitlines() if "warning: " not in line]
    assert (2, "", 1) == (result.exit_code, result.stdout, len(errors)), result.output
    number = line_with(broken.text, broken.piece)
    assert errors[0].startswith(f"{path}:{number}: {broken.key}")
    assert broken.remedy in errors[0]


def test_all_at_once_in_a_process_of_its_own(folder: Path) -> None:
    paths = [str(folder / file_name(name)) for name in BROKEN]
    command = [sys.executable, "-m", "sim", "check", *paths]
    child = subprocess.run(command, capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2])
    lines = [line for line in child.stderr.splitlines() if "warning: " not in line]
    assert (2, "") == (child.returncode, child.stdout)
    assert paths == [re.split(r":\d+: ", line)[0] for line in lines]


def test_the_scene_that_all_are_made_of_is_right(tmp_path: Path) -> None:
    path = tmp_path / "right.toml"
    path.write_text(VIVARIUM, encoding="utf-8")
    result = CliRunner().invoke(vivray, ["check", str(path)])
    assert (0, "") == (result.exit_code, result.stderr)
    assert result.stdout.startswith(f"{path}: ok — 1 lamp, 1 reflector, 1 part, 12 surfaces, ")


def test_faults_in_many_places_are_one_line_each_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = VIVARIUM
    for old, new in [
        ('all = "melamine-white"', 'all = "melamine-whit"'),
        ('radius = "8 mm"', "radius = 8"),
        ('law = "slate"', 'law = "slat"'),
        ('name = "basking"', "name = 5"),
        ("histories = 1000", 'histories = "many"'),
    ]:
        text = text.replace(old, new)
    path = tmp_path / "many.toml"
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(vivray, ["check", str(path)])
    keys = [re.split(r":\d+: ", line)[1].split(":")[0] for line in result.stderr.splitlines()]
    assert keys == ["enclosure.walls.all", "lamps[0].radius", "parts[0].law", "zones[0].name", "run.histories"]


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda path: None, ": no such file; give the path of a scene file (.toml)"),
        (lambda path: path.mkdir(), ": is a folder; give the path of a scene file (.toml) in it"),
        (
            lambda path: path.write_bytes(b'title = "a"\nnote = "\xff"'),
            ":2: byte 0xff is not UTF-8; save the file as UTF-8",
        ),
        (lambda path: path.write_bytes(b"PK\x03\x04\x00\xbb"), ": is no text; give the path of a scene file (.toml)"),
        (lambda path: path.write_text("a = " + "[" * 5000), ": tables or lists are nested too deep"),
        (
            lambda path: path.write_text("title = 'a'\nnote = [1,\n"),
            ":3: not TOML at column 1: invalid value; a bracket",
        ),
        (lambda path: path.write_text('title = "a\n'), ":1: title: not TOML at column 11: illegal character"),
    ],
    ids=["missing", "folder", "not UTF-8", "a result", "deep", "open list", "open quote"],
)
def test_files_that_are_no_scene(tmp_path: Path, make: object, message: str) -> None:
    path = tmp_path / "scene.toml"
    assert callable(make)
    make(path)
    result = CliRunner().invoke(vivray, ["check", str(path)])
    assert (2, "", 1) == (result.exit_code, result.stdout, len(result.stderr.splitlines()))
    assert result.stderr.startswith(f"{path}{message}")
