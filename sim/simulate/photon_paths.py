"""A few photons' ways through a scene, to be drawn: seen, not counted."""

from dataclasses import dataclass

import numpy as np

from sim.compile import compile_scene
from sim.scene.check import Survey
from sim.simulate.trace import kernel_seed
from sim.tally.result import FloatArray
from sim.transport.recorded import record_photons

STEPS = 64
"""Corners of a way that are kept; what follows is too dim to be seen."""


@dataclass(frozen=True)
class PhotonPath:
    """A photon's way: the lamp it came from, and its corners (n, 3) [m] from the lamp to where it ended."""

    lamp: str
    corners: FloatArray


def photon_paths(seen: Survey, count: int, seed: int | None = None) -> tuple[PhotonPath, ...]:
    """Return the ways of the first photons of every lamp, the same at every call.

    Parameters
    ----------
    seen : Survey
        Of a scene whose check found no error.
    count : int
        Photons of each lamp.
    seed : int, optional
        The scene's, where it is left out.
    """
    scene, compiled = seen.scene, compile_scene(seen, only_sensors=True)
    used = kernel_seed(scene.run.seed if seed is None else seed)
    away = 0.25 * float(np.ptp(compiled.geometry.vertices, axis=0).max())
    paths = []
    for number, lamp in enumerate(scene.lamps):
        corners, lengths = np.zeros((count, STEPS, 3)), np.zeros(count, dtype=np.int64)
        record_photons(compiled.model, number, 0, count, used, away, corners, lengths)
        paths += [PhotonPath(lamp.name, way[:length]) for way, length in zip(corners, lengths, strict=True)]
    return tuple(paths)
