"""Radiant power of each lamp: as stated, or solved from a reading by simulating the set-up of that reading."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.compile.bands import lamp_spectra
from sim.lamps.any_lamp import Lamp
from sim.lamps.output import Output
from sim.lamps.reading import Reference
from sim.scene.model import Scene
from sim.sensors.sensor import Point
from sim.simulate.tallies import REPLICATES
from sim.spectra.spectrum import Spectrum
from sim.tally.common_factor import CommonFactor, common_factor
from sim.tally.lamp_record import Agreement, FittedReading
from sim.tally.statistics import estimate

FloatArray = npt.NDArray[np.float64]

READING_ERROR = 0.002
"""Relative standard error at which a reading's set-up counts as solved, where a run is to reach no error of its own.

It becomes part of every error of its lamp.
"""
NORMAL_95 = 1.96
"""Half width of a 95 % interval of the normal distribution, in standard errors."""


@dataclass(frozen=True)
class Found:
    """How a lamp's power was found: the last six attributes of a `LampRecord`, which see.

    Attributes
    ----------
    notes : tuple of str
        What a reader should know.
    power_range : (float, float)
    range_from : str
    readings : tuple of FittedReading
    agreement : Agreement, optional
    """

    notes: tuple[str, ...] = ()
    power_range: tuple[float, float] = (1.0, 1.0)
    range_from: str = ""
    readings: tuple[FittedReading, ...] = ()
    agreement: Agreement | None = None


@dataclass(frozen=True)
class Powers:
    """How strong the lamps are.

    Attributes
    ----------
    watts : (lamp,) float [W]
        Radiant power over the bands, dimming, ageing and warm-up included.
    spread : (lamp, replicate) float
        Relative deviation of each replicate's power from the mean; zero where the power was stated. A reading is
        solved in as many independent replicates as the run has, and each of the run's takes one of them, so that the
        scatter of the run's replicates holds the error of the reading as well.
    found : tuple of Found
        How each lamp's was found.
    """

    watts: FloatArray
    spread: FloatArray
    found: tuple[Found, ...]


Reader = Callable[[Scene, Sequence[str], float], FloatArray]
"""Traces a scene; takes scene, a weighting for each sensor, wanted relative error; returns (replicate, sensor)."""


def lamp_powers(scene: Scene, read: Reader, wanted: float = READING_ERROR) -> Powers:
    """Return the radiant power of every lamp of a scene.

    Parameters
    ----------
    scene : Scene
    read : callable
        See `Reader`.
    wanted : float
        Relative standard error of readings.

    Raises
    ------
    ValueError
        If the set-up of a reading brings no light to it.
    """
    low, high = scene.run.wavelengths
    watts, found = [], []
    spread = np.zeros((len(scene.lamps), REPLICATES))
    for index, (lamp, spectrum) in enumerate(zip(scene.lamps, lamp_spectra(scene), strict=True)):
        references = lamp.output.references()
        if references:
            fit, how = _fitted(scene, lamp, references, read, wanted)
            power, spread[index] = fit.value, fit.deviation
        else:
            power, how = lamp.output.radiant_power(spectrum, low, high), _stated(lamp, spectrum, (low, high))
        watts.append(power * lamp.strength)
        found.append(replace(how, notes=(*how.notes, *lamp.strength_notes, *lamp.notes)))
    return Powers(np.array(watts), spread, tuple(found))


def _stated(lamp: Lamp, spectrum: Spectrum, limits: tuple[float, float]) -> Found:
    told = (lamp.output.note, lamp.output.over_the_ceiling(spectrum, *limits))
    between = lamp.output.range_of_power
    return Found(
        notes=tuple(line for line in told if line is not None),
        power_range=between,
        range_from="" if between == (1.0, 1.0) else "the share of electrical power that leaves as radiation",
    )


def _fitted(
    scene: Scene, lamp: Lamp, references: tuple[Reference, ...], read: Reader, wanted: float
) -> tuple[CommonFactor, Found]:
    """Return the power at full level that fits the readings of a lamp best [W], and how it was found."""
    per_watt = read(_setup(scene, lamp, references), [reference.weighting for reference in references], wanted)
    each = estimate(per_watt)
    for reference, mean in zip(references, each.mean, strict=True):
        if mean <= 0.0:
            raise ValueError(
                f"lamps[{scene.lamps.index(lamp)}].output: none of the light of '{lamp.name}' reaches the place of its "
                f"reading, {100.0 * reference.distance:g} cm along its facing; check facing and reflector"
            )
    stated = [reference.value for reference in references]
    fit = common_factor(stated, [reference.error for reference in references], per_watt)
    error = float(estimate(fit.deviation).se)
    if lamp.output.readings is None:
        at = f"its reading at {100.0 * references[0].distance:g} cm ({references[0].setting})"
        return fit, Found(notes=(_solved_from(fit, at, error),))
    readings = tuple(
        FittedReading(
            reference.weighting,
            reference.distance,
            reference.value,
            reference.error,
            fit.value * float(each.mean[row]),
            float(each.se[row] / each.mean[row]),
        )
        for row, reference in enumerate(references)
    )
    return fit, _from_table(fit, readings, f"{len(readings)} readings ({references[0].setting})", error)


def _solved_from(fit: CommonFactor, what: str, error: float) -> str:
    return (
        f"{fit.value:.4g} W of radiant power, solved from {what}, to {100.0 * error:.2g} % standard error, which is "
        "part of every error here"
    )


def _from_table(fit: CommonFactor, readings: tuple[FittedReading, ...], what: str, error: float) -> Found:
    agreement = Agreement(fit.chi_square, fit.freedom, fit.chance) if fit.freedom else None
    # Readings that scatter more than their errors say know the power by so much less.
    scatter = max(1.0, fit.chi_square / fit.freedom) ** 0.5 if fit.freedom else 1.0
    half = min(1.0, NORMAL_95 * scatter * fit.stated_error)
    notes = (
        _solved_from(fit, what, error),
        f"the errors of the readings themselves leave it open by {100.0 * half:.2g} % to either side (95 %)",
    )
    return Found(notes, (1.0 - half, 1.0 + half), "the errors of its readings", readings, agreement)


def _setup(scene: Scene, lamp: Lamp, references: tuple[Reference, ...]) -> Scene:
    """Return the set-up of readings: the lamp at one watt, alone or in its fixture, and meters that look at it."""
    shape = lamp.shape()
    normal = [float(-part) for part in shape.facing]
    attached = tuple(sheet for sheet in scene.reflectors if sheet.lamp == lamp.name)
    meters = []
    for row, reference in enumerate(references):
        at = _lengths(shape.centre + reference.distance * shape.facing)
        keys = {"kind": "point", "name": f"reading {row + 1}", "at": at, "normal": normal}
        meters.append(Point.model_validate(keys))
    full = {"level": 1.0, "maintained": 1.0, "age": None, "warm_up": None}
    unit = lamp.model_copy(update={"output": Output.model_validate({"radiant": "1 W"}), **full})
    return Scene.model_construct(
        title=f"reading of {lamp.name}",
        note="",
        enclosure=None,
        laws=scene.laws,
        lamps=(unit,),
        reflectors=attached if references[0].setting == "fixture" else (),
        parts=(),
        animal=scene.animal,
        sensors=tuple(meters),
        zones=(),
        run=scene.run,
    )


def _lengths(point: npt.NDArray[np.float64]) -> tuple[str, str, str]:
    x, y, z = (f"{float(value)!r} m" for value in point)
    return x, y, z
