import tomllib
from pathlib import Path

import numpy as np
import pytest

from sim.scene.check import check, survey
from sim.scene.finding import Finding
from sim.scene.load import load_scene
from sim.scene.model import Scene
from tests.support.scene_text import VIVARIUM, altered

LAMP_ENDS = 'from = ["30 cm", "30 cm", "55 cm"]\nto = ["90 cm", "30 cm", "55 cm"]'
TROUGH = VIVARIUM[VIVARIUM.index("[[reflectors]]") : VIVARIUM.index("[[parts]]")]
OPENING = '[[enclosure.openings]]\nwall = "{}"\ncorner = [{}]\nsize = [{}]\n{}\n\n[laws.slate]'
TWO_POINTS = '[[sensors]]\nname = "more"\nkind = "point"\nnormal = [0, 0, 1]\nat = '


def scene_of(text: str) -> Scene:
    return Scene.model_validate(tomllib.loads(text))


def lamp_at(start: str, end: str, opening: str = "[laws.slate]") -> Scene:
    """The scene without its reflector, the lamp elsewhere, perhaps with an opening."""
    text = altered(LAMP_ENDS, f"from = [{start}]\nto = [{end}]").replace(TROUGH, "")
    return scene_of(text.replace("[laws.slate]", opening))


def brief(findings: list[Finding]) -> list[tuple[str, tuple[str | int, ...]]]:
    return [(finding.severity, finding.where) for finding in findings]


def test_nothing_is_found_in_a_scene_that_is_right() -> None:
    assert check(scene_of(VIVARIUM)) == []


def test_the_survey_counts_what_a_run_would_measure() -> None:
    """Cells of about 10 cm: 12 x 6 on floor and ceiling, and so on; faces of the ledge; one point."""
    seen = survey(scene_of(VIVARIUM))
    walls = 2 * (12 * 6) + 2 * (12 * 6) + 2 * (6 * 6)
    ledge = 2 * (3 * 2) + 2 * 3 + 2 * 2
    assert (len(seen.surfaces), seen.receivers) == (12, walls + ledge + 1)


def test_screens_are_not_measured_by_name_or_in_place() -> None:
    screen = 'kind = "screen"\nwire = "0.28 mm"\npitch = "1.6 mm"'
    named = altered('all = "melamine-white"', 'all = "melamine-white"\nceiling = "lid"') + f"\n[laws.lid]\n{screen}\n"
    placed = altered(
        'all = "melamine-white"', f'all = "melamine-white"\nceiling = {{ {screen.replace(chr(10), ", ")} }}'
    )
    plain = survey(scene_of(VIVARIUM)).receivers
    assert [survey(scene_of(text)).receivers for text in (named, placed)] == [plain - 72, plain - 72]


@pytest.mark.parametrize(
    ("start", "end", "wall"),
    [
        ('"30 cm", "30 cm", "59.5 cm"', '"90 cm", "30 cm", "59.5 cm"', "ceiling"),
        ('"30 cm", "30 cm", "0 cm"', '"90 cm", "30 cm", "0 cm"', "floor"),
        ('"-5 cm", "30 cm", "50 cm"', '"50 cm", "30 cm", "50 cm"', "left"),
        ('"50 cm", "30 cm", "50 cm"', '"140 cm", "30 cm", "50 cm"', "right"),
        ('"50 cm", "0.5 cm", "50 cm"', '"90 cm", "0.5 cm", "50 cm"', "front"),
        ('"-20 cm", "30 cm", "50 cm"', '"140 cm", "30 cm", "50 cm"', "left"),  # all the way through
    ],
)
def test_a_lamp_that_runs_into_a_wall(start: str, end: str, wall: str) -> None:
    findings = check(lamp_at(start, end))
    assert brief(findings) == [("error", ("lamps", 0))]
    assert f"runs into the wall '{wall}'" in findings[0].message


@pytest.mark.parametrize("height", ["59.1 cm", "0.9 cm"])
def test_a_lamp_close_to_a_wall_is_right(height: str) -> None:
    assert check(lamp_at(f'"30 cm", "30 cm", "{height}"', f'"70 cm", "30 cm", "{height}"')) == []


def test_a_lamp_may_reach_through_an_open_opening_but_not_through_a_covered_or_a_small_one() -> None:
    ends = ('"-5 cm", "30 cm", "50 cm"', '"50 cm", "30 cm", "50 cm"')
    fits = ("left", '"25 cm", "45 cm"', '"10 cm", "10 cm"')
    assert check(lamp_at(*ends, OPENING.format(*fits, ""))) == []
    covered = check(lamp_at(*ends, OPENING.format(*fits, 'cover = "glass-clear-4mm"')))
    small = check(lamp_at(*ends, OPENING.format("left", '"29.5 cm", "45 cm"', '"1 cm", "10 cm"', "")))
    elsewhere = check(lamp_at(*ends, OPENING.format("right", '"25 cm", "45 cm"', '"10 cm", "10 cm"', "")))
    assert [brief(found) for found in (covered, small, elsewhere)] == [[("error", ("lamps", 0))]] * 3


ABOVE = ('"30 cm", "30 cm", "68 cm"', '"90 cm", "30 cm", "68 cm"')
SPOT = ('"10 cm", "10 cm"', '"40 cm", "20 cm"')


def test_a_lamp_outside_a_closed_box_gives_no_light() -> None:
    findings = check(lamp_at(*ABOVE))
    assert brief(findings) == [("error", ("lamps", 0))]
    assert "beyond the wall 'ceiling', and no light can get in there" in findings[0].message


@pytest.mark.parametrize(
    "cover",
    [
        "",
        'cover = "glass-low-iron-4mm"',
        'cover = { kind = "screen", wire = "0.28 mm", pitch = "1.6 mm" }',
        'cover = { kind = "leaf", reflectance = 0.5, transmittance = 0.2 }',
    ],
)
def test_light_gets_in_by_openings_and_what_lets_it_through(cover: str) -> None:
    assert check(lamp_at(*ABOVE, OPENING.format("ceiling", *SPOT, cover))) == []


@pytest.mark.parametrize(
    ("wall", "cover"),
    [
        ("left", ""),
        ("ceiling", 'cover = "melamine-white"'),
        ("ceiling", 'cover = { kind = "leaf", reflectance = 0.5, transmittance = 0.0 }'),
    ],
)
def test_no_light_gets_in_by_another_wall_or_an_opaque_cover(wall: str, cover: str) -> None:
    assert brief(check(lamp_at(*ABOVE, OPENING.format(wall, *SPOT, cover)))) == [("error", ("lamps", 0))]


def test_a_whole_lid_of_screen_lets_light_in() -> None:
    lid = 'all = "melamine-white"\nceiling = { kind = "screen", wire = "0.28 mm", pitch = "1.6 mm" }'
    text = altered(LAMP_ENDS, f"from = [{ABOVE[0]}]\nto = [{ABOVE[1]}]")
    assert check(scene_of(text.replace('all = "melamine-white"', lid))) == []


def test_bodies_that_share_their_place() -> None:
    into_ledge = lamp_at('"30 cm", "30 cm", "21 cm"', '"85 cm", "30 cm", "21 cm"')
    within_ledge = lamp_at('"85 cm", "30 cm", "21.5 cm"', '"105 cm", "30 cm", "21.5 cm"')
    assert "runs into part 'ledge'" in check(into_ledge)[0].message
    assert "lies within part 'ledge'" in check(within_ledge)[0].message
    lamp = VIVARIUM[VIVARIUM.index("[[lamps]]") : VIVARIUM.index("[[reflectors]]")].replace(
        '"tube"\nkind', '"other"\nkind'
    )
    twice = check(scene_of(VIVARIUM.replace(TROUGH, lamp)))
    assert [finding.where for finding in twice] == [("lamps", 1)]


@pytest.mark.parametrize(
    ("corner", "found"),
    [
        ('"80 cm", "20 cm", "-3 cm"', [("warning", ("parts", 0))]),
        ('"-10 cm", "20 cm", "20 cm"', [("warning", ("parts", 0))]),
        ('"200 cm", "20 cm", "20 cm"', [("error", ("parts", 0))]),
        ('"80 cm", "20 cm", "-40 cm"', [("error", ("parts", 0))]),
        ('"0 cm", "0 cm", "0 cm"', []),
        ('"90 cm", "40 cm", "57 cm"', [("error", ("zones", 0, "surface"))]),  # its top lies in the ceiling
    ],
)
def test_parts_beside_walls(corner: str, found: list[tuple[str, tuple[str | int, ...]]]) -> None:
    text = altered('corner = ["80 cm", "20 cm", "20 cm"]', f"corner = [{corner}]").replace(TROUGH, "")
    assert brief(check(scene_of(text))) == found


@pytest.mark.parametrize(
    ("zone", "where"),
    [
        ('surface = "floor"\nregion = [["0 cm", "0 cm"], ["120 cm", "60 cm"]]', None),
        ('surface = "floor"\nregion = [["0 cm", "0 cm"], ["121 cm", "60 cm"]]', "region"),
        ('surface = "floor"\nregion = [["-1 cm", "0 cm"], ["12 cm", "60 cm"]]', "region"),
        ('surface = "floor"\nheight = "59 cm"', None),
        ('surface = "floor"\nheight = "61 cm"', "height"),
        ('surface = "left"\nheight = "110 cm"', None),
        ('surface = "left"\nheight = "125 cm"', "height"),
        ('box = [["0 cm", "0 cm", "0 cm"], ["120 cm", "60 cm", "60 cm"]]', None),
        ('box = [["0 cm", "0 cm", "0 cm"], ["120 cm", "60 cm", "61 cm"]]', "box"),
    ],
)
def test_zones_beside_walls(zone: str, where: str | None) -> None:
    text = f'{VIVARIUM}\n[[zones]]\nname = "other"\nrole = "passage"\n{zone}\n'
    assert brief(check(scene_of(text))) == ([] if where is None else [("error", ("zones", 1, where))])


def test_a_zone_on_what_is_not_flat_or_not_measured() -> None:
    sphere = (
        '[[parts]]\nname = "stone"\nkind = "sphere"\ncentre = ["9 cm", "9 cm", "9 cm"]\nradius = "5 cm"\nlaw = "rock"\n'
    )
    zone = '[[zones]]\nname = "other"\nrole = "passage"\nsurface = "{}"\n{}\n'
    region = 'region = [["1 cm", "1 cm"], ["2 cm", "2 cm"]]'
    assert check(scene_of(f"{VIVARIUM}\n{sphere}{zone.format('stone', '')}")) == []
    assert brief(check(scene_of(f"{VIVARIUM}\n{sphere}{zone.format('stone', region)}"))) == [
        ("error", ("zones", 1, "region"))
    ]
    lid = altered('all = "melamine-white"', 'all = "melamine-white"\nceiling = "lid"')
    lid += '[laws.lid]\nkind = "screen"\nwire = "0.28 mm"\npitch = "1.6 mm"\n'
    assert brief(check(scene_of(lid + zone.format("ceiling", "")))) == [("error", ("zones", 1, "surface"))]


def test_sensors_outside_and_within_a_lamp() -> None:
    outside = check(scene_of(f'{VIVARIUM}\n{TWO_POINTS}["60 cm", "30 cm", "61 cm"]'))
    within = check(scene_of(f'{VIVARIUM}\n{TWO_POINTS}["60 cm", "30 cm", "55 cm"]'))
    assert brief(outside) == [("warning", ("sensors", 1))]
    assert brief(within) == [("error", ("sensors", 1))]


def test_a_reflector_through_a_wall_is_doubtful() -> None:
    findings = check(scene_of(altered('above = "15 mm"', 'above = "51 mm"\nfloor_width = "4 cm"')))
    assert brief(findings) == [("warning", ("reflectors", 0))]
    assert "runs through the wall 'ceiling'" in findings[0].message


FREE_SHEET = """
[[reflectors]]
name = "free"
profile = "flat"
from = ["20 cm", "30 cm", "{axis} cm"]
to = ["80 cm", "30 cm", "{axis} cm"]
facing = [0, 0, -1]
width = "{width}"
above = "1 cm"
law = "black"
"""


@pytest.mark.parametrize(
    ("axis", "width", "wrong"),
    [("54", "20 cm", True), ("52", "20 cm", False), ("54.82", "2 cm", False), ("54", "2 mm", True)],
)
def test_a_free_reflector_that_cuts_a_lamp(axis: str, width: str, wrong: bool) -> None:
    # The lamp's axis lies at 55 cm, its radius is 8 mm, and the sheet lies 1 cm over its own axis: through the lamp's
    # middle, below it, just above its skin, and through its middle again, narrower than it.
    text = altered(TROUGH, FREE_SHEET.format(axis=axis, width=width))
    findings = [item for item in check(scene_of(text)) if item.severity == "error"]
    assert brief(findings) == ([("error", ("reflectors", 0))] if wrong else [])
    assert not wrong or "it cuts through lamp 'tube'; move one of them clear of the other" in findings[0].message


def test_a_reflector_that_cuts_its_lamp() -> None:
    assert brief(check(scene_of(altered('above = "15 mm"', 'above = "5 mm"')))) == [("error", ("reflectors", 0))]


WHITE = '{ kind = "lambertian", reflectance = 1.0 }'
ALL_WHITE = (
    VIVARIUM.replace('"melamine-white"', WHITE)
    .replace('"sand-dry"', WHITE)
    .replace("reflectance = 0.3 }", "reflectance = 1.0 }")
    .replace('law = "slate"', f"law = {WHITE}")
    .replace('law = "polished-aluminium"', 'law = { kind = "mirror", reflectance = 1.0 }\noutside = ' + WHITE)
    .replace('radius = "8 mm"', f'radius = "8 mm"\nbody = {WHITE}')
    .replace('[laws.slate]\nkind = "glossy"\nreflectance = 0.2\nspecular_share = 0.5\nroughness = 0.3\n', "")
)


def test_light_that_never_ends() -> None:
    findings = check(scene_of(ALL_WHITE))
    assert brief(findings) == [("error", ("enclosure",))]
    assert "nothing in this closed box absorbs light" in findings[0].message


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (f'radius = "8 mm"\nbody = {WHITE}', 'radius = "8 mm"'),
        (f"floor = {WHITE}", 'floor = { kind = "screen", wire = "0.28 mm", pitch = "1.6 mm" }'),
        (f"floor = {WHITE}", 'floor = { kind = "sheet", n = 1.5, k = 0, thickness = "4 mm" }'),
        ("outside = " + WHITE, 'outside = "black"'),
    ],
)
def test_one_loss_is_enough_for_light_to_end(old: str, new: str) -> None:
    assert ALL_WHITE.count(old) == 1
    assert [finding for finding in check(scene_of(ALL_WHITE.replace(old, new))) if finding.severity == "error"] == []


def test_a_loss_at_some_wavelengths_only_is_not_enough() -> None:
    table = '{ kind = "lambertian", reflectance = { wavelength = ["300 nm", "310 nm"], value = [0.5, 1.0] } }'
    (finding,) = check(scene_of(ALL_WHITE.replace(f"floor = {WHITE}", f"floor = {table}")))
    assert (finding.severity, finding.where) == ("error", ("enclosure",))


def test_very_bright_boxes_are_slow() -> None:
    text = ALL_WHITE.replace("reflectance = 1.0", "reflectance = 0.999")
    (finding,) = check(scene_of(text))
    assert (finding.severity, finding.where) == ("warning", ("enclosure",))
    assert "0.10%" in finding.message


def test_lamps_that_give_no_light() -> None:
    off = scene_of(altered('radius = "8 mm"', 'radius = "8 mm"\nlevel = "0 %"'))
    assert brief(check(off)) == [("warning", ("lamps", 0, "level"))]
    band = scene_of(altered('{ radiant = "1.5 W" }', '{ radiant = "1.5 W", band = ["600 nm", "700 nm"] }'))
    assert brief(check(band)) == [("error", ("lamps", 0, "output"))]
    line = altered('"uvb-phosphor-306"', '{ lines = [{ at = "365.015 nm" }] }')
    unseen = scene_of(line.replace('{ radiant = "1.5 W" }', '{ uvb = "9 uW/cm2", at = "30 cm", setting = "bare" }'))
    assert brief(check(unseen)) == [("error", ("lamps", 0, "output"))]
    glass = scene_of(altered('radius = "8 mm"', 'radius = "8 mm"\nbody = "glass-clear-4mm"'))
    assert brief(check(glass)) == [("error", ("lamps", 0, "body"))]


def test_a_law_that_nothing_has() -> None:
    scene = scene_of(VIVARIUM + '\n[laws.spare]\nkind = "black"\n')
    assert brief(check(scene)) == [("warning", ("laws", "spare"))]


def test_errors_come_before_warnings() -> None:
    text = f'{VIVARIUM}\n{TWO_POINTS}["60 cm", "30 cm", "61 cm"]\n[laws.spare]\nkind = "black"\n'
    found = check(scene_of(text.replace('to = ["90 cm"', 'to = ["190 cm"').replace(TROUGH, "")))
    assert [finding.severity for finding in found] == ["error", "warning", "warning"]


def write_stl(path: Path, low: float, high: float) -> None:
    """Write a cube as text, in millimetres."""
    corners = np.array([[x, y, z] for x in (low, high) for y in (low, high) for z in (low, high)])
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    lines = ["solid cube"]
    for a, b, c, d in faces:
        for triangle in ((a, b, c), (a, c, d)):
            rows = "".join(f"vertex {' '.join(map(str, corners[corner]))}\n" for corner in triangle)
            lines.append(f"facet normal 0 0 0\nouter loop\n{rows}endloop\nendfacet")
    path.write_text("\n".join([*lines, "endsolid cube"]))


def test_a_room_from_a_mesh_file(tmp_path: Path) -> None:
    write_stl(tmp_path / "room.stl", 0.0, 1000.0)
    walls = VIVARIUM[VIVARIUM.index("[enclosure]") : VIVARIUM.index("[laws.slate]")]
    room = VIVARIUM.replace(walls, '[enclosure]\nmesh = "room.stl"\nunit = "mm"\nlaw = "concrete"\n\n')
    room = room.replace(TROUGH, "").replace('corner = ["80 cm"', 'corner = ["60 cm"')

    def found(text: str) -> list[tuple[str, tuple[str | int, ...]]]:
        (tmp_path / "scene.toml").write_text(text)
        return brief(check(load_scene(tmp_path / "scene.toml")))

    assert found(room) == []
    assert found(room.replace('to = ["90 cm"', 'to = ["101 cm"')) == [("error", ("lamps", 0))]
    above = room.replace('"30 cm", "55 cm"', '"30 cm", "155 cm"')
    assert found(above) == [("error", ("lamps", 0))]
    assert found(above.replace('law = "concrete"', 'law = "glass-clear-4mm"')) == []
    assert found(room.replace('corner = ["60 cm"', 'corner = ["260 cm"')) == [("error", ("parts", 0))]


def test_a_mesh_file_that_cannot_be_used(tmp_path: Path) -> None:
    (tmp_path / "root.stl").write_text("solid nothing\nendsolid nothing\n")
    part = '[[parts]]\nname = "root"\nkind = "mesh"\nfile = "root.stl"\nunit = "mm"\nlaw = "cork"\n'
    (tmp_path / "scene.toml").write_text(f"{VIVARIUM}\n{part}")
    assert brief(check(load_scene(tmp_path / "scene.toml"))) == [("error", ("parts", 1, "file"))]


@pytest.mark.parametrize(
    ("at", "dark"), [('["85 cm", "30 cm", "21 cm"]', True), ('["85 cm", "30 cm", "24 cm"]', False)]
)
def test_a_meter_within_a_part_is_told(at: str, dark: bool) -> None:
    findings = check(scene_of(f"{VIVARIUM}\n{TWO_POINTS}{at}\n"))
    assert brief(findings) == ([("warning", ("sensors", 1))] if dark else [])
    assert not dark or "lies within part 'ledge', where it is dark" in findings[0].message


@pytest.mark.parametrize(("top", "found"), [("21.5 cm", [("error", ("zones", 1, "box"))]), ("26 cm", [])])
def test_a_zone_that_a_part_holds_is_told(top: str, found: list[tuple[str, tuple[str, int, str]]]) -> None:
    box = f'box = [["82 cm", "22 cm", "20.5 cm"], ["86 cm", "26 cm", "{top}"]]'
    assert found == brief(check(scene_of(f'{VIVARIUM}\n[[zones]]\nname = "within"\nrole = "passage"\n{box}\n')))


@pytest.mark.parametrize(("height", "found"), [("4 cm", []), ("70 cm", [("warning", ("animal", "back_height"))])])
def test_a_back_that_is_nowhere_within_the_enclosure(height: str, found: list[tuple[str, tuple[str, str]]]) -> None:
    text = f"{VIVARIUM[: VIVARIUM.index('[[zones]]')]}\n[run]\nhistories = 64\n"
    before = VIVARIUM[VIVARIUM.index("[animal]") :].splitlines()[1]
    findings = check(scene_of(text.replace(before, f'back_height = "{height}"')))
    assert found == brief(findings)
    assert all("nothing is within reach: 70 cm over floor" in finding.message for finding in findings)
