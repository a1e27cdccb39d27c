"""Running a scene file and reading what a user gets: the JSON summary."""

from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from sim.report.summary import run_summary
from sim.scene.load import load_scene
from sim.simulate import simulate

SCENES = Path(__file__).resolve().parents[1] / "analytic" / "scenes"
SEED = 20_240_607


class Reading(NamedTuple):
    """A number of a run and its standard error."""

    value: float
    se: float


class Answer:
    """The summary of a run, by name.

    Parameters
    ----------
    summary : dict
        What ``run --json`` prints.
    """

    def __init__(self, summary: dict[str, Any]) -> None:
        self.summary = summary

    def _row(self, kind: str, name: str) -> dict[str, Any]:
        rows = [row for row in self.summary[kind] if row["name"] == name]
        assert len(rows) == 1, f"{name!r} is no name of one of the {kind}"
        return rows[0]

    def surface(self, name: str) -> Reading:
        """Area mean of the irradiance of a surface [W/m2]."""
        row = self._row("surfaces", name)
        return Reading(row["irradiance_W_m2"], row["irradiance_se"])

    def area(self, name: str) -> float:
        """Area of a surface [m2]."""
        area = self._row("surfaces", name)["area_m2"]
        assert isinstance(area, float)
        return area

    def sensor(self, name: str) -> Reading:
        """Irradiance at a sensor [W/m2]."""
        row = self._row("sensors", name)
        return Reading(row["irradiance_W_m2"], row["irradiance_se"])

    def uvi(self, name: str) -> Reading:
        """UV index at a sensor."""
        row = self._row("sensors", name)
        return Reading(row["uvi"], row["uvi_se"])

    def absorbed(self, name: str) -> float:
        """Power that a surface absorbs [W]."""
        power = self.summary["energy"]["absorbed_by_W"][name]
        assert isinstance(power, float)
        return power

    def energy(self, key: str) -> float:
        """``emitted_W``, ``absorbed_W``, ``escaped_W`` or ``unfinished_W``."""
        power = self.summary["energy"][key]
        assert isinstance(power, float)
        return power


def traced(path: Path, seed: int = SEED) -> Answer:
    """Load a scene file, trace it with a fixed seed, and return its summary."""
    # Two threads change the time and no bit of the result.
    return Answer(run_summary(simulate(load_scene(path), seed=seed, threads=2, source=path.name)))


@cache
def traced_file(name: str) -> Answer:
    """Trace a scene of the folder beside the analytic tests, once."""
    return traced(SCENES / f"{name}.toml")


def traced_text(text: str, folder: Path, seed: int = SEED) -> Answer:
    """Write a scene into a folder and trace it."""
    path = folder / "scene.toml"
    path.write_text(text, encoding="utf-8")
    return traced(path, seed)


def near(reading: Reading, tolerance: float, sigmas: float = 3.0, of: float | None = None) -> Any:  # noqa: ANN401
    """Approximate equality to a reading within a relative tolerance plus some of its standard errors.

    Parameters
    ----------
    reading : Reading
    tolerance : float
        What formula and program may differ by, relative to the reading or to `of`. The standard error must not be
        larger, else the comparison would say nothing.
    sigmas : float
        3 by default: a true difference of zero fails with probability 0.0027, once and for all, as the seed is fixed.
    of : float, optional
        Scale of the tolerance.
    """
    allowed = tolerance * (abs(reading.value) if of is None else of)
    assert reading.se <= allowed, f"a standard error of {reading.se:.3g} is too large to test to {allowed:.3g}"
    return pytest.approx(reading.value, abs=allowed + sigmas * reading.se)


def by_chance(reading: Reading, sigmas: float = 4.0, resolution: float = 0.005) -> Any:  # noqa: ANN401
    """Equality to a reading within its noise alone.

    Four standard errors: a right program fails with probability 0.00006. The standard error must be below `resolution`
    of the reading.
    """
    assert reading.se <= resolution * abs(reading.value), f"a standard error of {reading.se:.3g} tests nothing"
    # Sums of the same photons in single precision differ by their rounding where nothing is left to chance.
    return pytest.approx(reading.value, abs=sigmas * reading.se + 1e-6 * abs(reading.value))
