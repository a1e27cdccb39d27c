import tomllib
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.scene.position import KeyPath, find_positions, value_at

TEXT = '''\
title = "a # no comment"   # a comment with [brackets] and "quotes"

[box] # a table
size = [
  "1 cm", # the first
  "2 cm",
]
walls.floor = { kind = "black", deep = { k = [1, 2] } }
"quoted key" = 1
'literal' = """
[not a header]
key = "not a key"
"""

[[lamps]]
name = "a"
[lamps.output]
radiant = "1 W"
[[lamps]]
name = "b"
points = [[1, 2],
          [3, 4]]
[[lamps.coils]]
turns = 1
[[lamps.coils]]
turns = 2
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 1),
        (("box",), 3),
        (("box", "size"), 4),
        (("box", "size", 0), 5),
        (("box", "size", 1), 6),
        (("box", "walls"), 8),
        (("box", "walls", "floor", "kind"), 8),
        (("box", "walls", "floor", "deep", "k", 1), 8),
        (("box", "quoted key"), 9),
        (("box", "literal"), 10),
        (("lamps",), 15),
        (("lamps", 0, "name"), 16),
        (("lamps", 0, "output"), 17),
        (("lamps", 0, "output", "radiant"), 18),
        (("lamps", 1), 19),
        (("lamps", 1, "name"), 20),
        (("lamps", 1, "points", 1, 0), 22),
        (("lamps", 1, "coils", 0, "turns"), 24),
        (("lamps", 1, "coils", 1, "turns"), 26),
        (("lamps", 1, "no such key"), 19),
        (("box", "size", 7), 4),
        (("no such table", "key"), None),
        ((), None),
    ],
)
def test_line_of_a_key_or_of_what_is_around_it(path: KeyPath, line: int | None) -> None:
    assert find_positions(TEXT).line_of(path) == line


def test_the_example_is_toml_without_repeats() -> None:
    assert set(tomllib.loads(TEXT)) == {"title", "box", "lamps"}
    assert find_positions(TEXT).repeats == []


@pytest.mark.parametrize(
    ("text", "repeat"),
    [
        ("a = 1\nb = 2\na = 3", (("a",), 1, 3)),
        ("[t]\nx = 1\n[u]\n[t]\n", (("t",), 1, 4)),
        ("a = { b = 1,\n b = 2 }", (("a", "b"), 1, 2)),
        ("a.b = 1\n'a'.\"b\" = 2", (("a", "b"), 1, 2)),
    ],
)
def test_repeats_are_noted_with_both_lines(text: str, repeat: tuple[KeyPath, int, int]) -> None:
    assert find_positions(text).repeats == [repeat]


@pytest.mark.parametrize(
    "text", ["a = 1\nb = [1,", "a = 1\n= 2", 'a = 1\nb = "', "a = 1\n[t", "a = 1\nb = " + "[" * 9000]
)
def test_a_broken_end_keeps_what_stands_before(text: str) -> None:
    assert find_positions(text).line_of(("a",)) == 1


def test_windows_line_ends_count_once() -> None:
    assert find_positions('a = 1\r\nb = """x\r\ny"""\r\nc = 2').line_of(("c",)) == 4


KEYS = st.sampled_from(["a", "b-1", "c_d", '"e f"', "'g.h'", '"\\u0069"', "kind"])
BREAKS = st.sampled_from(["", " ", "\n", "\n  # [comment]\n", " # = {\n"])


@st.composite
def values(draw: st.DrawFn, depth: int = 2) -> str:
    form = draw(st.integers(0, 4 if depth else 2))
    if form == 0:
        return '"V"'
    if form == 1:
        return "'''V\n#'''" if draw(st.booleans()) else '"""\\"V"""'
    if form == 2:
        return '"V"'
    if form == 3:
        entries = draw(st.lists(values(depth - 1), max_size=3))
        return "[" + "".join(f"{draw(BREAKS)}{entry},{draw(BREAKS)}" for entry in entries) + "]"
    keys = draw(st.lists(KEYS, max_size=3, unique=True))
    return "{" + ", ".join(f"{key} = {draw(values(0))}" for key in keys) + "}"


@st.composite
def documents(draw: st.DrawFn) -> str:
    """Valid TOML whose text values are all different: each is the number of its place in the text."""

    def body() -> str:
        keys = draw(st.lists(KEYS, max_size=3, unique=True))
        return "".join(f"{key} = {draw(values())}\n{draw(BREAKS).strip(' ')}" for key in keys)

    headers = draw(st.lists(st.sampled_from(["[[t]]", "[[t.u]]", "[x%d]", "[y.z%d]", "[t.w%d]"]), max_size=5))
    text = body() + "[[t]]\n" + body().replace("kind", "kinds")
    for number, header in enumerate(headers):
        text += (header % number if "%" in header else header) + "\n" + body()
    pieces = text.split("V")
    return "".join(f"{piece}{number:04d}" for number, piece in enumerate(pieces[:-1])) + pieces[-1]


def leaves(value: object, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from leaves(inner, (*path, key))
    if isinstance(value, str):
        yield path, value.strip('"\n#')


@given(documents())
def test_every_value_stands_on_the_line_of_its_key(text: str) -> None:
    found = find_positions(text)
    for path, value in leaves(tomllib.loads(text)):
        assert path in found.lines
        line = text[: text.index(value)].count("\n") + 1
        assert found.line_of(path) == line
    assert found.repeats == []


def test_value_at_a_path() -> None:
    document = {"a": [{"b": 5}]}
    assert value_at(document, ("a", 0, "b")) == 5
    assert value_at(document, ("a", 1, "b")) is None
    assert value_at(document, ("a", 0, "b", "c")) is None
