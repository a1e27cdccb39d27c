"""From sums to a result."""

from functools import cache
from importlib import metadata

import numpy as np
import numpy.typing as npt

from sim.compile import CompiledScene
from sim.scene.check import Survey
from sim.simulate.balance import balanced
from sim.simulate.power import Powers
from sim.simulate.tallies import REPLICATES, Tallies
from sim.tally.lamp_record import LampRecord
from sim.tally.result import Energy, Meta, Result


@cache
def version() -> str:
    """Return the version of the program, or what there is to say instead."""
    try:
        return metadata.version("vivray")
    except metadata.PackageNotFoundError:
        return "0+unknown"


def assemble(seen: Survey, compiled: CompiledScene, tallies: Tallies, powers: Powers, meta: Meta) -> Result:
    """Return the result of the sums so far; every lamp must have photons."""
    band_power = powers.watts[:, None] * compiled.band_share
    per_photon = band_power / (tallies.photons[:, None] * REPLICATES)
    scene = seen.scene
    return Result(
        meta=meta,
        lamps=tuple(
            LampRecord(
                name=lamp.name,
                radiant_power=float(powers.watts[index]),
                spectrum=compiled.spectra[index].scaled(float(powers.watts[index])),
                centre=_triple(seen.lamps[lamp.name].centre),
                facing=_triple(seen.lamps[lamp.name].facing),
                notes=powers.found[index].notes,
                power_range=powers.found[index].power_range,
                range_from=powers.found[index].range_from,
                readings=powers.found[index].readings,
                agreement=powers.found[index].agreement,
            )
            for index, lamp in enumerate(scene.lamps)
        ),
        edges_nm=compiled.edges_nm,
        groups=compiled.groups,
        centre=compiled.centre,
        normal=compiled.normal,
        area=compiled.area,
        irradiance=_irradiance(compiled, tallies, band_power, powers.spread),
        energy=Energy(
            emitted=band_power,
            escaped=tallies.escaped.sum(axis=1) * per_photon,
            unfinished=tallies.unfinished.sum(axis=1) * per_photon,
            absorbed=np.moveaxis(tallies.absorbed.sum(axis=1) * per_photon[:, None, :], 1, 0),
            names=compiled.surface_names,
        ),
        geometry=compiled.geometry,
        scene=scene.model_dump(mode="json", by_alias=True, exclude_defaults=True),
    )


def _triple(vector: npt.NDArray[np.float64]) -> tuple[float, float, float]:
    return float(vector[0]), float(vector[1]), float(vector[2])


def _irradiance(
    compiled: CompiledScene,
    tallies: Tallies,
    band_power: npt.NDArray[np.float64],
    spread: npt.NDArray[np.float64],
) -> npt.NDArray[np.float32]:
    """Return (replicate, receiver, lamp, band), cells first."""
    lamps, replicates, cells, bands = tallies.cells.shape
    gathered = len(compiled.effort)
    irradiance = np.zeros((replicates, len(compiled.area), lamps, bands), dtype=np.float32)
    # A cell that an opening cuts away whole has no area and receives nothing; nor has a point one.
    inverse = np.divide(1.0, compiled.area, out=np.zeros_like(compiled.area), where=compiled.area > 0.0)
    per_area, per_gathered = inverse[:cells], inverse[cells:]
    # The largest arrays of a run, made anew at every look of the stop rule: as few passes as can be.
    for lamp in range(lamps):
        power = band_power[lamp] * (1.0 + spread[lamp])[:, None, None]
        photons = float(tallies.photons[lamp])
        direct = tallies.direct[lamp] * (1.0 / np.maximum(tallies.direct_count[lamp], 1))[:, None]
        arrived = tallies.cells[lamp] * (per_area / photons)[:, None]
        for surface, cells_there in compiled.straight_surfaces():
            rows = compiled.straight[cells_there]
            straight = tallies.straight[lamp][:, surface] / photons
            arrived[:, rows] += balanced(direct[:, gathered:][:, cells_there], straight, compiled.area[rows])
        np.multiply(arrived, power, out=irradiance[:, :cells, lamp], casting="same_kind")
        through = tallies.crossed[lamp] * (per_gathered / photons)[:, None]
        through += tallies.paths[lamp] * (1.0 / np.maximum(tallies.path_count[lamp], 1))[:, None]
        through += direct[:, :gathered]
        np.multiply(through, power, out=irradiance[:, cells:, lamp], casting="same_kind")
    return irradiance
