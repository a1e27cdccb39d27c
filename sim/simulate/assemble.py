"""From sums to a result."""

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from importlib import metadata
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from sim.compile import CompiledScene
from sim.scene.check import Survey
from sim.simulate.balance import balanced
from sim.simulate.power import Powers
from sim.simulate.seldom_met import seldom_met
from sim.simulate.tallies import REPLICATES, Tallies
from sim.tally.lamp_record import LampRecord
from sim.tally.pages import zeros_by_page
from sim.tally.result import Energy, Group, Meta, Result

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

BLOCK = 512
"""Cells that are summed over replicates in one task."""


@cache
def version() -> str:
    """Return the version of the program, or what there is to say instead."""
    try:
        return metadata.version("vivray")
    except metadata.PackageNotFoundError:
        return "0+unknown"


class Traced(NamedTuple):
    """A compiled scene and the sums of its tracing."""

    compiled: CompiledScene
    tallies: Tallies


def assemble(  # noqa: PLR0913, PLR0917  # what a run has, and two with a default
    seen: Survey,
    compiled: CompiledScene,
    tallies: Tallies,
    powers: Powers,
    meta: Meta,
    pool: ThreadPoolExecutor | None = None,
    *,
    wanted: tuple[Group, ...] | None = None,
    more: Traced | None = None,
) -> Result:
    """Return the result of the sums so far; every lamp must have photons.

    Parameters
    ----------
    seen : Survey
    compiled : CompiledScene
    tallies : Tallies
    powers : Powers
    meta : Meta
    pool : ThreadPoolExecutor, optional
        To work on; it changes nothing but the time.
    wanted : tuple of Group, optional
        Some of those that are gathered: the result has no others.
    more : Traced, optional
        The same bodies and lamps, traced for gathered receivers of their own, which come after all others.
    """
    band_power = powers.watts[:, None] * compiled.band_share
    per_photon = band_power / (tallies.photons[:, None] * REPLICATES)
    scene = seen.scene
    sums = _Sums(compiled, tallies, band_power, powers.spread)
    groups, rows = (compiled.groups, np.arange(len(compiled.area))) if wanted is None else _moved(wanted)
    after = [] if more is None else [more]
    groups += tuple(replace(g, first=g.first + len(rows)) for part in after for g in part.compiled.groups)
    count = len(rows) + sum(len(part.compiled.area) for part in after)
    irradiance = zeros_by_page((REPLICATES, count, *band_power.shape), np.float32)
    sums.fill(irradiance[:, : len(rows)], pool, None if wanted is None else rows - compiled.cells)
    for part in after:
        _Sums(*part, band_power, powers.spread).fill(irradiance[:, len(rows) :], pool)
    return Result(
        meta=meta,
        lamps=_lamps(seen, compiled, tallies, powers),
        edges_nm=compiled.edges_nm,
        groups=groups,
        centre=np.concatenate([compiled.centre[rows], *(part.compiled.centre for part in after)]),
        normal=np.concatenate([compiled.normal[rows], *(part.compiled.normal for part in after)]),
        area=np.concatenate([compiled.area[rows], *(part.compiled.area for part in after)]),
        irradiance=irradiance,
        energy=Energy(
            emitted=band_power,
            escaped=tallies.escaped.sum(axis=1) * per_photon,
            unfinished=tallies.unfinished.sum(axis=1) * per_photon,
            absorbed=np.moveaxis(tallies.absorbed.sum(axis=1) * per_photon[:, None, :], 1, 0),
            names=compiled.surface_names,
            samples=_power_samples(tallies, band_power, powers.spread),
        ),
        geometry=compiled.geometry,
        scene=scene.model_dump(mode="json", by_alias=True, exclude_defaults=True),
    )


def _power_samples(tallies: Tallies, band_power: FloatArray, spread: FloatArray) -> FloatArray:
    """Return absorbed power by surface, then what escaped and what was given up, (replicate, surface + 2, lamp) [W]."""
    parts = np.concatenate([tallies.absorbed, tallies.escaped[:, :, None], tallies.unfinished[:, :, None]], axis=2)
    watts = np.einsum("lrsb,lb->rsl", parts, band_power / tallies.photons[:, None])
    return np.asarray(watts * (1.0 + spread.T[:, None, :]), dtype=np.float64)


def _lamps(seen: Survey, compiled: CompiledScene, tallies: Tallies, powers: Powers) -> tuple[LampRecord, ...]:
    missed_at = seldom_met(seen, compiled, tallies)
    return tuple(
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
            missed_at=missed_at[index],
        )
        for index, lamp in enumerate(seen.scene.lamps)
    )


def _triple(vector: npt.NDArray[np.float64]) -> tuple[float, float, float]:
    return float(vector[0]), float(vector[1]), float(vector[2])


def _moved(groups: tuple[Group, ...]) -> tuple[tuple[Group, ...], IntArray]:
    """Return groups one after the other, and the rows where their receivers were."""
    rows = [np.arange(group.first, group.first + group.count) for group in groups]
    firsts = np.cumsum([0, *(group.count for group in groups)])[:-1]
    moved = tuple(replace(group, first=int(first)) for group, first in zip(groups, firsts, strict=True))
    return moved, np.concatenate([np.zeros(0, dtype=np.int64), *rows])


def _run(rows: IntArray) -> slice | IntArray:
    """Return ascending rows as a slice where none is left out between them, which is far quicker to go through."""
    first, last = int(rows[0]), int(rows[-1])
    return slice(first, last + 1) if last - first + 1 == len(rows) else rows


class _Scratch(threading.local):
    """Memory of each thread: what is given back after every step is taken anew from the system."""

    def __init__(self, cells: int, straight: int, gathered: int, bands: int) -> None:
        self.arrived, self.through, self.more = np.zeros((cells, bands)), *np.zeros((2, gathered, bands))
        self.by_rays, self.by_others, self.weighed = np.zeros((3, straight, bands))


class _Sums:
    """The sums of a run as irradiance, replicate by replicate: whole arrays of a run lie in no fast memory."""

    def __init__(self, compiled: CompiledScene, tallies: Tallies, band_power: FloatArray, spread: FloatArray) -> None:
        self._compiled, self._tallies, self._power, self._spread = compiled, tallies, band_power, spread
        # A cell that an opening cuts away whole has no area and receives nothing; nor has a point one.
        area = compiled.area
        per_area = np.divide(1.0, area, out=np.zeros_like(area), where=area > 0.0)
        per_photon = per_area[None, :] / tallies.photons[:, None]
        self._per_cell, self._per_gathered = per_photon[:, : compiled.cells], per_photon[:, compiled.cells :]
        self._per_ray = 1.0 / np.maximum(tallies.direct_count, 1)
        self._per_path = 1.0 / np.maximum(tallies.path_count, 1)
        pairs = [(surface, cells.start) for surface, cells in compiled.straight_surfaces()]
        self._surfaces, self._first = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
        self._straight_area = area[compiled.straight]
        self._places = [(cells, _run(compiled.straight[cells])) for _, cells in compiled.straight_surfaces()]

    def fill(
        self, found: npt.NDArray[np.float32], pool: ThreadPoolExecutor | None, gathered: IntArray | None = None
    ) -> None:
        """Fill in (replicate, receiver, lamp, band): cells first, or some gathered receivers alone."""
        lamps, replicates, cells, bands = self._tallies.cells.shape
        by_rays = None if gathered is not None else [self._by_rays(lamp, pool) for lamp in range(lamps)]
        rows = slice(None) if gathered is None else gathered
        scratch = _Scratch(cells, len(self._straight_area), len(self._compiled.effort), bands)

        def fill_one(replicate: int) -> None:
            for lamp in range(lamps):
                power = self._power[lamp] * (1.0 + self._spread[lamp, replicate])
                out = found[replicate, :, lamp]
                if by_rays is not None:
                    arrived = self._arrived(lamp, replicate, by_rays[lamp], scratch)
                    np.multiply(arrived, power, out=out[:cells], casting="same_kind")
                through = self._through(lamp, replicate, rows, scratch)
                np.multiply(through, power, out=out if by_rays is None else out[cells:], casting="same_kind")

        list((map if pool is None else pool.map)(fill_one, range(replicates)))

    def _by_rays(self, lamp: int, pool: ThreadPoolExecutor | None) -> FloatArray:
        """Return straight light on cells by rays, the sum over all replicates, (k, band)."""
        first, per_ray = len(self._compiled.effort), self._per_ray[lamp]
        direct = self._tallies.direct[lamp]

        def summed(start: int) -> FloatArray:
            rows = slice(start, start + BLOCK)
            block: FloatArray = direct[:, rows].sum(axis=0) * per_ray[rows, None]
            return block

        blocks = range(first, direct.shape[1], BLOCK)
        total: FloatArray = np.concatenate([direct[0, :0], *(map if pool is None else pool.map)(summed, blocks)])
        return total

    def _arrived(self, lamp: int, replicate: int, total: FloatArray, scratch: _Scratch) -> FloatArray:
        """Return what arrives at the cells of surfaces, (cell, band)."""
        tallies, compiled = self._tallies, self._compiled
        arrived: FloatArray = np.multiply(
            tallies.cells[lamp, replicate], self._per_cell[lamp][:, None], out=scratch.arrived
        )
        if len(self._first):
            gathered = len(compiled.effort)
            straight = tallies.straight[lamp, replicate, self._surfaces] / float(tallies.photons[lamp])
            direct, per_ray = tallies.direct[lamp, replicate, gathered:], self._per_ray[lamp, gathered:, None]
            by_rays = np.multiply(direct, per_ray, out=scratch.by_rays)
            by_others = np.subtract(total, by_rays, out=scratch.by_others)
            both = balanced(by_rays, by_others, straight, self._straight_area, self._first, scratch.weighed)
            for cells, at in self._places:
                arrived[at] += both[cells]
        return arrived

    def _through(self, lamp: int, replicate: int, rows: slice | IntArray, scratch: _Scratch) -> FloatArray:
        """Return what passes some gathered receivers, (receiver, band)."""
        tallies, gathered = self._tallies, slice(len(self._compiled.effort))
        per_gathered, per_path = self._per_gathered[lamp][rows, None], self._per_path[lamp][rows, None]
        count = len(per_gathered)
        through: FloatArray = scratch.through[:count]
        more = scratch.more[:count]
        np.multiply(tallies.crossed[lamp, replicate][rows], per_gathered, out=through)
        through += np.multiply(tallies.paths[lamp, replicate][rows], per_path, out=more)
        direct, per_ray = tallies.direct[lamp, replicate, gathered][rows], self._per_ray[lamp, gathered][rows, None]
        through += np.multiply(direct, per_ray, out=more)
        return through
