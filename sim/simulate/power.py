"""Radiant power of each lamp: as stated, or solved from a reading by simulating the set-up of that reading."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.compile.bands import lamp_spectra
from sim.lamps.any_lamp import Lamp
from sim.lamps.output import Output, Reference
from sim.scene.model import Scene
from sim.sensors.sensor import Point
from sim.simulate.tallies import REPLICATES
from sim.tally.statistics import estimate

FloatArray = npt.NDArray[np.float64]

READING_ERROR = 0.002
"""Relative standard error at which a reading's set-up counts as solved; it becomes part of every error of its lamp."""


@dataclass(frozen=True)
class Powers:
    """How strong the lamps are.

    Attributes
    ----------
    watts : (lamp,) float [W]
        Radiant power over the bands, dimming included.
    spread : (lamp, replicate) float
        Relative deviation of each replicate's power from the mean; zero where the power was stated. A reading is
        solved in as many independent replicates as the run has, and each of the run's takes one of them, so that the
        scatter of the run's replicates holds the error of the reading as well.
    notes : tuple of tuple of str
        What a reader should know of each lamp.
    """

    watts: FloatArray
    spread: FloatArray
    notes: tuple[tuple[str, ...], ...]


Reader = Callable[[Scene, str, float], FloatArray]
"""Traces a scene with one sensor: takes scene, weighting, wanted relative error; returns the reading's replicates."""


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
    watts, notes = [], []
    spread = np.zeros((len(scene.lamps), REPLICATES))
    for index, (lamp, spectrum) in enumerate(zip(scene.lamps, lamp_spectra(scene), strict=True)):
        reference = lamp.output.reference()
        told = [lamp.output.note] if lamp.output.note else []
        if reference is None:
            watts.append(lamp.output.radiant_power(spectrum, low, high) * lamp.level)
        else:
            per_watt = read(_reading(scene, lamp, reference), reference.weighting, wanted)
            power = _solved(lamp, reference, per_watt)
            # To first order, so that the mean over replicates stays the power of the mean reading.
            spread[index] = 1.0 - per_watt / per_watt.mean()
            watts.append(power * lamp.level)
            error = estimate(per_watt).se / per_watt.mean()
            told.append(
                f"{power:.4g} W of radiant power, solved from its reading at {100.0 * reference.distance:g} cm "
                f"({reference.setting}), to {100.0 * error:.2g} % standard error, which is part of every error here"
            )
        notes.append(tuple(told))
    return Powers(np.array(watts), spread, tuple(notes))


def _solved(lamp: Lamp, reference: Reference, per_watt: FloatArray) -> float:
    mean = float(per_watt.mean())
    if mean <= 0.0:
        raise ValueError(
            f"lamps: '{lamp.name}': none of its light reaches the place of its reading, "
            f"{100.0 * reference.distance:g} cm along its facing; check facing and reflector"
        )
    return reference.value / mean


def _reading(scene: Scene, lamp: Lamp, reference: Reference) -> Scene:
    """Return the set-up of a reading: the lamp at one watt, alone or in its fixture, and a meter that looks at it."""
    shape = lamp.shape()
    at = shape.centre + reference.distance * shape.facing
    normal = -shape.facing
    attached = tuple(sheet for sheet in scene.reflectors if sheet.lamp == lamp.name)
    meter = Point.model_validate(
        {"kind": "point", "name": "reading", "at": _lengths(at), "normal": [float(part) for part in normal]}
    )
    unit = lamp.model_copy(update={"output": Output.model_validate({"radiant": "1 W"}), "level": 1.0})
    return Scene.model_construct(
        title=f"reading of {lamp.name}",
        note="",
        enclosure=None,
        laws=scene.laws,
        lamps=(unit,),
        reflectors=attached if reference.setting == "fixture" else (),
        parts=(),
        animal=scene.animal,
        sensors=(meter,),
        zones=(),
        run=scene.run,
    )


def _lengths(point: npt.NDArray[np.float64]) -> tuple[str, str, str]:
    x, y, z = (f"{float(value)!r} m" for value in point)
    return x, y, z
