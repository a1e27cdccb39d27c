import copy
import pickle
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.scene.check import check
from sim.scene.fault import Fault, SceneError, key_text
from sim.scene.load import Document, load_scene, read_document
from sim.scene.position import KeyPath, Positions, find_positions
from sim.scene.syntax import parse_text
from tests.support.scene_text import VIVARIUM


def test_a_file_is_loaded(tmp_path: Path) -> None:
    path = tmp_path / "scene.toml"
    path.write_text(VIVARIUM)
    assert load_scene(str(path)) == read_document(path).scene()
    assert load_scene(path).title == "A tube under the lid"


def test_a_byte_order_mark_and_windows_lines_do_no_harm(tmp_path: Path) -> None:
    plain, marked = tmp_path / "plain.toml", tmp_path / "marked.toml"
    plain.write_text(VIVARIUM)
    marked.write_bytes(b"\xef\xbb\xbf" + VIVARIUM.replace("\n", "\r\n").encode())
    assert load_scene(marked) == load_scene(plain)


def test_files_are_looked_up_beside_the_scene(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "lamp.csv").write_text("wavelength_nm,power\n290,0\n310,1\n330,0\n")
    path = tmp_path / "there" / "scene.toml"
    path.write_text(VIVARIUM.replace('"uvb-phosphor-306"', '{ csv = "lamp.csv" }'))
    monkeypatch.chdir(tmp_path)
    assert check(load_scene("there/scene.toml")) == []


def test_a_reader_is_told_of_files_that_are_named_also_where_they_are_missing(tmp_path: Path) -> None:
    path, there = tmp_path / "scene.toml", tmp_path / "lamp.csv"
    there.write_text("wavelength_nm,power\n290,0\n310,1\n330,0\n")
    mesh = 'corner = ["80 cm", "20 cm", "20 cm"]\nsize = ["30 cm", "20 cm", "3 cm"]'
    text = VIVARIUM.replace('"uvb-phosphor-306"', '{ csv = "lamp.csv" }').replace(
        mesh, 'file = "gone.stl"\nunit = "mm"'
    )
    path.write_text(text.replace('kind = "ledge"', 'kind = "mesh"'))
    named: set[Path] = set()
    with pytest.raises(SceneError, match=r"file 'gone.stl' not found"):
        read_document(path, named.add).scene()
    assert named == {there, tmp_path / "gone.stl"}


def test_an_error_comes_back_whole_from_another_process() -> None:
    error = SceneError(["one", "two"])
    back = pickle.loads(pickle.dumps(error))
    assert (back.lines, str(back)) == (["one", "two"], "one\ntwo")


def test_a_fault_is_one_line_whatever_it_holds() -> None:
    document = Document(Path("s.toml"), {}, find_positions("a = 1\n\nb = 2"))
    assert document.line(Fault(("b",), "two\nlines;  and  more")) == "s.toml:3: b: two lines; and more"
    assert document.line(Fault((), "all of it")) == "s.toml:1: all of it"
    assert document.line(Fault(("a",), "odd"), "warning: ") == "s.toml:1: warning: a: odd"


def test_paths_as_people_write_them() -> None:
    assert key_text(("lamps", 0, "output", "at")) == "lamps[0].output.at"
    assert key_text(("laws", "red clay", "n")) == 'laws."red clay".n'
    assert key_text(("laws", "sand-dry", "value", 2)) == "laws.sand-dry.value[2]"


LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 10**20),
    st.floats(),
    st.sampled_from(
        ["", "3 cm", "-3 cm", "1e400 m", "tube", "floor", "5 %", "300 nm", "1 W", "x" * 99, "a\nb", "ledge.top"]
    ),
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["kind", "name", "reflectance", "law", "é!"]), inner, max_size=3)
    ),
    max_leaves=6,
)


def places(value: object, path: KeyPath = ()) -> Iterator[KeyPath]:
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in entries:
        yield (*path, key)
        yield from places(inner, (*path, key))


RIGHT = tomllib.loads(VIVARIUM)
PLACES = list(places(RIGHT))


@st.composite
def mutants(draw: st.DrawFn) -> dict[str, Any]:
    """The right scene with up to three places changed, taken out or added to."""
    document: dict[str, Any] = copy.deepcopy(RIGHT)
    for path in draw(st.lists(st.sampled_from(PLACES), min_size=1, max_size=3, unique=True)):
        table: Any = document
        try:
            for key in path[:-1]:
                table = table[key]
            action = draw(st.sampled_from(["change", "remove", "add"]))
            if action == "remove":
                del table[path[-1]]
            elif action == "add" and isinstance(table, dict):
                table[draw(st.sampled_from(["extra", "kind", "law", "from", "csv"]))] = draw(VALUES)
            else:
                table[path[-1]] = draw(VALUES)
        except (KeyError, IndexError, TypeError):
            continue
    return document


def lines_of(document: Document) -> list[str]:
    """Return what is wrong with a document, or what a check finds in it."""
    try:
        scene = document.scene()
    except SceneError as error:
        return error.lines
    return [document.line(finding.fault) for finding in check(scene)]


@given(mutants())
def test_whatever_stands_in_a_file_is_a_scene_or_lines(document: dict[str, Any]) -> None:
    """No other exception than the one with lines, and each line once and in the agreed form."""
    lines = lines_of(Document(Path("s.toml"), document, Positions()))
    assert len(set(lines)) == len(lines)
    assert [line for line in lines if not re.fullmatch(r"s\.toml:1: [^:]+.*: [^\n]+", line)] == []


PIECES = st.sampled_from(["", '"', "[", "]", "=", "\n", "{", "}", "é", "x = 1", "[}", '"""', "# "])


@given(start=st.integers(0, len(VIVARIUM)), length=st.integers(0, 40), put=PIECES)
def test_whatever_the_text_is_the_answer_is_a_document_or_one_line(start: int, length: int, put: str) -> None:
    text = VIVARIUM[:start] + put + VIVARIUM[start + length :]
    try:
        data, positions = parse_text(Path("s.toml"), text)
    except SceneError as error:
        (line,) = error.lines
        number = int(line.split(":")[1])
    else:
        number = 1
        missed = [place for place in places(data) if place not in positions.lines]
        assert (missed, positions.repeats) == ([], [])
    assert 1 <= number <= text.count("\n") + 1


@pytest.mark.parametrize(
    "text", ["a = [}", "a = [=", "a = {]", "a = [1 2", "= 1", "[", "a = ", "a.", '"a', "[[a]", "a = {b"]
)
def test_what_is_no_toml_ends_the_scan(text: str) -> None:
    with pytest.raises(SceneError, match=r"^s\.toml:1: .*not TOML at column \d+: "):
        parse_text(Path("s.toml"), text)
