"""DEVELOPERS.md against the checkout: every file, module and layer that it names is there."""

import re
import tomllib
from pathlib import Path

from tests.support.markdown import parse

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
QUOTED = re.findall(r"`([^`\n]+)`", PAGE)


def exists(name: str) -> bool:
    """Whether a path or a dotted module stands in the checkout."""
    module = ROOT / name.replace(".", "/")
    return (ROOT / name).exists() or module.is_dir() or module.with_suffix(".py").exists()


def test_every_file_and_module_is_there() -> None:
    named = {name for name in QUOTED if re.fullmatch(r"(sim|viewer|bench)([./]\w+)*/?(\.\w+)?", name)}
    named |= {name for name in QUOTED if re.fullmatch(r"tests/[\w/]+\.py", name)}
    assert len(named) > 40
    # NAME stands for whatever the reader adds; its folder must be there.
    places = {name.removesuffix("/NAME.toml") for name in named}
    assert [] == sorted(name for name in places if not exists(name))


def test_a_file_that_is_not_there_is_seen() -> None:
    assert exists("sim/units.py")
    assert exists("sim.units")
    assert not exists("sim/unit.py")
    assert not exists("sim.unit")


def test_the_layers_are_those_of_the_contracts() -> None:
    tools = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
    (layers,) = (part["layers"] for part in tools["importlinter"]["contracts"] if part["type"] == "layers")
    wanted = {name for layer in layers for name in re.findall(r"\w+", layer)} - {"__main__", "study"}
    sections, _ = parse(PAGE)
    (table,) = (section for section in sections if section.title == "Who may import whom")
    told = {name for row in table.rows for name in re.findall(r"`sim\.(\w+)`", row[0])}
    assert wanted == told


def test_links_within_the_page_lead_somewhere() -> None:
    sections, _ = parse(PAGE)
    anchors = {re.sub(r"[^\w -]", "", section.title.lower()).replace(" ", "-") for section in sections}
    assert set() == set(re.findall(r"\]\(#([\w-]+)\)", PAGE)) - anchors


def test_prose_is_wrapped() -> None:
    """Rows of tables may be long, since each is one line; a few letters too many do no harm."""
    long = [line for line in PAGE.splitlines() if len(line) > 130 and not line.startswith("|")]
    assert [] == long
