"""Files of ANSI/IES LM-63: what they say, and what is wrong with broken ones."""

from pathlib import Path

import numpy as np
import pytest

from sim.lamps.distribution import Distribution
from sim.lamps.lm63 import read_lm63
from sim.transport.arrays import F64
from tests.support.photometric_files import Law, cosine, lm63, lopsided, values, written

FINE = [2.5 * step for step in range(37)]
COARSE = [22.5 * step for step in range(5)]


def read(folder: Path, text: str) -> Distribution:
    return read_lm63(written(folder, "lamp.ies", text))


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(ValueError, match=r"lamp\.ies") as caught:
        read(folder, text)
    return str(caught.value)


def at(found: Distribution, polar: float, azimuth: float = 0.0) -> float:
    return float(found.at(np.radians([polar]), np.radians([azimuth]))[0])


def test_cosine_law(tmp_path: Path) -> None:
    """1000 cos has the power 1000 pi; at 33.75 deg a chord of 2.5 deg gives 831.27."""
    found = read(tmp_path, lm63(values(cosine, FINE, [0.0]), FINE))
    assert found.power == pytest.approx(1000.0 * np.pi, rel=1e-3)
    chord = 500.0 * (np.cos(np.radians(32.5)) + np.cos(np.radians(35.0)))
    assert chord == pytest.approx(831.27, abs=5e-3)
    assert at(found, 33.75) == pytest.approx(chord, rel=1e-9)
    assert (1000.0, 0.0) == (at(found, 0.0), at(found, 91.0))


def test_multiplier_and_ballast_factor_are_applied_once(tmp_path: Path) -> None:
    table = values(cosine, FINE, [0.0])
    assert at(read(tmp_path, lm63(table, FINE, multiplier=2.5)), 0.0) == pytest.approx(2500.0)
    assert at(read(tmp_path, lm63(table, FINE, multiplier=2.5, ballast=0.5)), 0.0) == pytest.approx(1250.0)


@pytest.mark.parametrize("edition", ["", "IESNA91", "IESNA:LM-63-1995", "IESNA:LM-63-2002", "IES:LM-63-2019"])
def test_editions(tmp_path: Path, edition: str) -> None:
    assert at(read(tmp_path, lm63(values(cosine, FINE, [0.0]), FINE, edition=edition)), 0.0) == 1000.0


@pytest.mark.parametrize("tilt", ["TILT=NONE", "tilt=none", "TILT=INCLUDE\n1\n3\n0 90 180\n1 .9\n.8", "TILT=OTHER.TLT"])
def test_tilt_is_no_part_of_the_shape(tmp_path: Path, tilt: str) -> None:
    assert at(read(tmp_path, lm63(values(cosine, FINE, [0.0]), FINE, tilt=tilt)), 0.0) == 1000.0


def test_lines_may_break_anywhere_and_commas_part_numbers(tmp_path: Path) -> None:
    head, _, numbers = lm63(values(cosine, COARSE, [0.0]), COARSE).partition("TILT=NONE\n")
    broken = head + "TILT=NONE\r\n" + "\r\n".join(numbers.split()) + "\r\n\x1a"
    commas = head + "TILT=NONE\n" + numbers.replace(" ", ", ")
    expected = read(tmp_path, head + "TILT=NONE\n" + numbers).intensity
    for text in (broken, commas):
        assert read(tmp_path, text).intensity == pytest.approx(expected)


def even_in(symmetry: str) -> Law:
    """A law with mirror planes: through 0 and 180 deg, 90 and 270 deg, or both."""
    folded = {
        "0-180": lambda phi: np.cos(phi),
        "90-270": lambda phi: np.sin(phi),
        "0-90": lambda phi: np.cos(2.0 * phi),
        "0-360": lambda phi: np.cos(phi + 0.7),
    }[symmetry]

    def law(polar: F64, azimuth: F64) -> F64:
        return np.cos(0.9 * polar) * (2.0 + folded(azimuth))

    return law


@pytest.mark.parametrize("symmetry", ["0-90", "0-180", "90-270", "0-360"])
def test_symmetries(tmp_path: Path, symmetry: str) -> None:
    first, last = map(int, symmetry.split("-"))
    horizontal = [float(angle) for angle in range(first, last + 1, 15)]
    law = even_in(symmetry)
    found = read(tmp_path, lm63(values(law, COARSE, horizontal), COARSE, horizontal))
    assert (0.0, 2.0 * np.pi) == (found.azimuth[0], found.azimuth[-1])
    whole = np.arange(0.0, 361.0, 15.0)
    for polar in COARSE:
        seen = found.at(np.full(len(whole), np.radians(polar)), np.radians(whole))
        assert seen == pytest.approx(values(law, [polar], list(whole))[:, 0], rel=1e-8)


def test_without_a_plane_at_zero_the_one_there_is_interpolated(tmp_path: Path) -> None:
    horizontal = [90.0, 170.0, 270.0]
    found = read(tmp_path, lm63(np.array([[1.0, 1.0], [2.0, 2.0], [1.0, 1.0]]), [0.0, 90.0], horizontal))
    assert np.degrees(found.azimuth) == pytest.approx([0.0, 10.0, 90.0, 170.0, 270.0, 360.0])
    assert found.intensity[0] == pytest.approx([1.9, 2.0, 1.0, 2.0, 1.0, 1.9])


TABLE = values(cosine, FINE, [0.0])
GOOD = lm63(TABLE, FINE)


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) == 1
    return GOOD.replace(old, new)


def test_short_list_names_the_line(tmp_path: Path) -> None:
    short = GOOD.rstrip("\n").rsplit(" ", 1)[0]
    assert refusal(tmp_path, short) == (
        "lamp.ies:9: the file ends after 36 of 37 candela values; it is cut off, or a count in it is wrong"
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (GOOD + "3.5\n", ":10: 1 more number than the counts of angles ask for; a count is wrong"),
        (changed("1 37 1 1 2", "1 36 1 1 2"), ":7: the one horizontal angle is 90; right are 0 alone"),
        (changed("1 37 1 1 2", "1 37.5 1 1 2"), ":5: the count of vertical angles is 37.5; it must be a whole number"),
        (changed("1 37 1 1 2", "1 37 1 2 2"), ":5: the photometric type is 2, type B; only type C (1) is read"),
        (changed("1 37 1 1 2", "1 37 1 3 2"), ":5: the photometric type is 3, type A; only type C (1) is read"),
        (changed("1 37 1 1 2", "0 37 1 1 2"), ":5: the candela multiplier is 0; it must be above 0"),
        (changed("0 2.5 5 7.5", "0 2.5 7.5 5"), ":7: the vertical angles must increase, but 5 follows 7.5"),
        (changed(" 87.5 90\n", " 87.5 190\n"), ":7: the vertical angles end at 190; 180 (straight back) is the last"),
        (changed("\n0 2.5 5", "\n1 2.5 5"), ":7: the vertical angles begin at 1; right is 0 (straight ahead)"),
        (changed("\n0\n", "\n45\n"), ":8: the one horizontal angle is 45; right are 0 alone, 0 to 90"),
        (changed("1000 999.0482216", "1000 -999.0"), ":9: the intensity -999.0 is negative; it must be 0 or more"),
        (changed("1000 999.0482216", "1000 nan"), ":9: an intensity is nan; give a finite number"),
        (changed("1000 999.0482216", "1000 9x9"), ":9: '9x9' is no number where an intensity should be"),
        (changed("TILT=NONE", "TILD=NONE"), ": has no line TILT=NONE (or INCLUDE), so it is no LM-63 file"),
        (lm63(0.0 * TABLE, FINE), ": all intensities are 0; a lamp shines somewhere"),
        ("\n \n", ": is empty; export it again"),
        ("IES\0", ": is no text file; export it again"),
    ],
)
def test_refusals(tmp_path: Path, text: str, message: str) -> None:
    assert refusal(tmp_path, text).startswith(f"lamp.ies{message}")


def test_asymmetric_table_keeps_its_planes(tmp_path: Path) -> None:
    horizontal = [0.0, 30.0, 100.0, 250.0, 360.0]
    found = read(tmp_path, lm63(values(lopsided, FINE, horizontal), FINE, horizontal))
    assert at(found, 20.0, 100.0) == pytest.approx(float(values(lopsided, [20.0], [100.0])[0, 0]))
    between = 0.5 * (values(lopsided, [20.0], [30.0]) + values(lopsided, [20.0], [100.0]))
    assert at(found, 20.0, 65.0) == pytest.approx(float(between[0, 0]))
