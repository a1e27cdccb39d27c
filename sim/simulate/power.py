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

READING_ERROR = 0.001
"""Relative standard error at which a reading's set-up counts as solved; it adds to every irradiance of its lamp."""


@dataclass(frozen=True)
class Powers:
    """Radiant power of each lamp over the bands [W], dimming included, and what a reader should know of each."""

    watts: npt.NDArray[np.float64]
    notes: tuple[tuple[str, ...], ...]


Reader = Callable[[Scene, str, float], tuple[float, float]]
"""Traces a scene with one sensor: takes scene, weighting, wanted relative error; returns reading and standard error."""


def lamp_powers(scene: Scene, read: Reader) -> Powers:
    """Return the radiant power of every lamp of a scene.

    Parameters
    ----------
    scene : Scene
    read : callable
        See `Reader`.

    Raises
    ------
    ValueError
        If the set-up of a reading brings no light to it.
    """
    low, high = scene.run.wavelengths
    watts, notes = [], []
    for lamp, spectrum in zip(scene.lamps, lamp_spectra(scene), strict=True):
        reference = lamp.output.reference()
        told = [lamp.output.note] if lamp.output.note else []
        if reference is None:
            watts.append(lamp.output.radiant_power(spectrum, low, high) * lamp.level)
        else:
            per_watt, se = read(_reading(scene, lamp, reference), reference.weighting, READING_ERROR)
            if per_watt <= 0.0:
                raise ValueError(
                    f"lamps: '{lamp.name}': none of its light reaches the place of its reading, "
                    f"{100.0 * reference.distance:g} cm along its facing; check facing and reflector"
                )
            power = reference.value / per_watt
            watts.append(power * lamp.level)
            told.append(
                f"{power:.4g} W of radiant power, solved from its reading at {100.0 * reference.distance:g} cm "
                f"({reference.setting}), to {100.0 * se / per_watt:.2g} % standard error"
            )
        notes.append(tuple(told))
    return Powers(np.array(watts), tuple(notes))


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
