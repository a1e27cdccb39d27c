"""EULUMDAT files: what they say, and what is wrong with broken ones."""

from pathlib import Path

import numpy as np
import pytest

from sim.lamps.distribution import Distribution
from sim.lamps.eulumdat import read_eulumdat
from sim.transport.arrays import F64
from tests.support.photometric_files import cosine, eulumdat, values, written

GAMMA = [5.0 * step for step in range(19)]
ALL = [15.0 * step for step in range(24)]


def read(folder: Path, text: str) -> Distribution:
    return read_eulumdat(written(folder, "lamp.ldt", text))


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(ValueError, match=r"lamp\.ldt") as caught:
        read(folder, text)
    return str(caught.value)


def test_values_are_per_1000_of_the_flux(tmp_path: Path) -> None:
    table = values(cosine, GAMMA, [0.0])
    found = read(tmp_path, eulumdat(table, GAMMA, flux=250.0, factor=2.0))
    assert found.intensity[0] == pytest.approx([500.0, 500.0])
    assert found.power == pytest.approx(500.0 * np.pi, rel=1e-3)


def test_decimals_may_follow_a_comma(tmp_path: Path) -> None:
    text = eulumdat(values(cosine, GAMMA, [0.0]), GAMMA, flux=250.5, factor=1.5)
    assert np.array_equal(read(tmp_path, text).intensity, read(tmp_path, text.replace(".", ",")).intensity)


def law(symmetry: int, azimuth: F64) -> F64:
    """A law of azimuth with the symmetry of each code."""
    waves = [np.cos(azimuth + 0.7), 0.0 * azimuth, np.cos(azimuth), np.sin(azimuth), np.cos(2.0 * azimuth)]
    return np.asarray(2.0 + waves[symmetry])


STORED = {0: (0, 345), 1: (0, 0), 2: (0, 180), 3: (270, 450), 4: (0, 90)}
"""First and last plane in the file, by the code of symmetry."""


@pytest.mark.parametrize("symmetry", STORED)
@pytest.mark.parametrize("sets", [1, 2])
def test_symmetries(tmp_path: Path, symmetry: int, sets: int) -> None:
    first, last = STORED[symmetry]
    stored = np.arange(first, last + 1, 15.0)
    table = law(symmetry, np.radians(stored))[:, None] * (1.0 + np.cos(np.radians(GAMMA)))
    found = read(tmp_path, eulumdat(table, GAMMA, ALL, symmetry=symmetry, sets=sets))
    whole = np.arange(0.0, 361.0, 15.0)
    assert (0.0, 2.0 * np.pi) == (found.azimuth[0], found.azimuth[-1])
    seen = found.at(np.full(len(whole), np.radians(20.0)), np.radians(whole))
    assert seen == pytest.approx(law(symmetry, np.radians(whole)) * (1.0 + np.cos(np.radians(20.0))), rel=1e-8)


GOOD = eulumdat(values(cosine, GAMMA, [0.0]), GAMMA)
LINES = GOOD.splitlines()


def with_line(number: int, text: str) -> str:
    return "\n".join([*LINES[: number - 1], text, *LINES[number:]]) + "\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("\n".join(LINES[:-1]), ":80: the file ends after 18 of 19 intensities; it is cut off, or a count in it"),
        (GOOD + "1\n2\n", ":82: 2 more lines than the counts ask for; a count is wrong"),
        (with_line(3, "5"), ":3: the symmetry is 5; it is 0, 1, 2, 3 or 4"),
        (with_line(4, "none"), ":4: 'none' is no number where the count of C planes should be"),
        (with_line(6, "1"), ":6: the count of angles in a plane is 1; it must be a whole number from 2 up"),
        (with_line(24, "0"), ":24: the conversion factor is 0; it must be above 0"),
        (with_line(29, "-1"), ":29: the flux of the lamps is -1; it must be above 0"),
        (with_line(43, "10"), ":43: C angles run from 10 to 10; they start at 0 and end below 360"),
        (with_line(44, "2"), ":44: the gamma angles begin at 2; right is 0 (straight ahead)"),
        (with_line(62, "181"), ":62: the gamma angles end at 181; 180 (straight back) is the last"),
        (with_line(45, "0"), ":45: the gamma angles must increase, but 0 follows 0"),
        (with_line(63, "-1"), ":63: the intensity -1 is negative; it must be 0 or more"),
        (with_line(3, "2"), ":4: the count of C planes is 1; with symmetry 2 it must be a multiple of 2"),
        ("a\nb\n1\n", ":3: the file ends after 0 of 1 lines with the count of C planes"),
    ],
)
def test_refusals(tmp_path: Path, text: str, message: str) -> None:
    assert refusal(tmp_path, text).startswith(f"lamp.ldt{message}")


def test_planes_that_miss_their_mirror_are_refused(tmp_path: Path) -> None:
    table = np.ones((3, 2))
    text = eulumdat(table, [0.0, 90.0], [0.0, 90.0, 170.0, 270.0], symmetry=2)
    assert "with symmetry 2 the stored planes run from C 0 to 180, not from 0 to 170" in refusal(tmp_path, text)
