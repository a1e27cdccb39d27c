"""``vivray describe``: every entry and every kind tells what it is."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from sim.cli import vivray
from sim.commands.describe import _kinds
from sim.scene import library

pytestmark = pytest.mark.system


def said(*words: str) -> str:
    outcome = CliRunner().invoke(vivray, ["describe", *words])
    assert outcome.exit_code == 0, outcome.output
    return outcome.output


@pytest.mark.parametrize("name", library.law_names())
def test_a_material_tells_its_source_and_whether_it_is_a_guess(name: str) -> None:
    entry = library.law_entry(name)
    text = said(name)
    assert entry.source in " ".join(text.split())
    assert f"value:   {entry.kind_of_value}" in text


@pytest.mark.parametrize("columns", [60, 100])
def test_prose_is_as_wide_as_the_terminal(columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    for words in ([], ["tube"], ["leaf"], ["hardware-cloth-4-mesh"]):
        table = said(*words).find("\n\nwires return")
        lines = said(*words)[: table if table >= 0 else None].splitlines()
        assert columns - 12 < max(len(line) for line in lines if not line.startswith("    ")) <= columns


@pytest.mark.parametrize("name", sorted(_kinds()))
def test_a_kind_tells_its_manual_page(name: str) -> None:
    assert len(said(name).splitlines()) >= 3


def test_the_list_names_everything() -> None:
    text = said()
    for name in (*library.law_names(), *library.lamp_spectrum_names(), *_kinds()):
        assert name in text


def test_the_shipped_glass_passes_what_the_constants_of_rubin_1985_give() -> None:
    # M. Rubin, Sol. Energy Mater. 12 (1985) 275: clear glass, 4 mm, normal incidence, 320 nm.
    row = next(line for line in said("glass-clear-4mm").splitlines() if line.strip().startswith("320"))
    assert float(row.split()[2]) == pytest.approx(0.105, abs=0.002)


def test_a_plot_is_written_once_and_never_over_a_file(tmp_path: Path) -> None:
    target = tmp_path / "sand.svg"
    said("sand-dry", "--plot", str(target))
    first = target.read_bytes()
    assert b"reflectance" in first
    again = CliRunner().invoke(vivray, ["describe", "sand-dry", "--plot", str(target)])
    assert again.exit_code == 2
    assert "exists" in again.output
    assert target.read_bytes() == first


def test_a_screen_tells_what_passes_by_angle_and_is_drawn(tmp_path: Path) -> None:
    rows = [line.replace("|", " ").split() for line in said("insect-screen-16-mesh-bright").splitlines()]
    table = {row[0]: [float(cell) for cell in row[1:]] for row in rows if len(row) == 7 and row[0].isdigit()}
    # Open area by ASTM E2016; at 60 degrees along one set the other takes twice its share.
    straight = {angle: cells[0] for angle, cells in table.items()}
    assert (straight["0"], straight["60"]) == pytest.approx((0.67898, 0.53395), abs=1e-4)
    target = tmp_path / "screen.svg"
    said("insect-screen-16-mesh-bright", "--plot", str(target))
    assert b"straight between wires" in target.read_bytes()


@pytest.mark.parametrize("words", [("lambertan",), ("tube", "--plot", "x.svg"), ("--plot", "x.svg")])
def test_a_mistake_is_exit_code_two_with_the_remedy(words: tuple[str, ...]) -> None:
    outcome = CliRunner().invoke(vivray, ["describe", *words])
    assert outcome.exit_code == 2
    assert "Error: " in outcome.output


@pytest.mark.parametrize(
    "words",
    [
        ("--light", "uvb-phosphor-306"),
        ("tube", "--light", "uvb-phosphor-306"),
        ("leaf", "--light", "no-such-light"),
    ],
)
def test_light_is_for_a_material_and_must_be_known(words: tuple[str, ...]) -> None:
    outcome = CliRunner().invoke(vivray, ["describe", *words])
    assert outcome.exit_code == 2
    assert "--light" in outcome.output


def test_a_light_with_a_bad_row_is_named(tmp_path: Path) -> None:
    table = tmp_path / "light.csv"
    table.write_text("300, 1\n290, 2\n")
    outcome = CliRunner().invoke(vivray, ["describe", "leaf", "--light", str(table)])
    assert outcome.exit_code == 2
    assert "light.csv:2: wavelength 290 is not above the one before it" in outcome.output
