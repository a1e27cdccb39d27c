"""What becomes of a lamp's light in its fixture: what leaves it, what is lost in it and where, and how it falls."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from sim.analysis.lit_band import width_with_error
from sim.analysis.maps import band_factors
from sim.analysis.spectral_share import Share, ratio_share
from sim.spectra.weighting import WEIGHTINGS
from sim.tally.lamp_record import LampRecord
from sim.tally.statistics import Estimate, estimate, t_factor

FloatArray = npt.NDArray[np.float64]
FateKind = Literal["ahead", "behind", "lamp", "reflector", "unfinished"]
SHARED = ("uvi", "uvb-320", "uva", "")
"""Weightings by which light is shared out; the last is none, plain radiant power."""


@dataclass(frozen=True)
class Strip:
    """A row of cells square to the lamp's facing, at each distance one.

    Attributes
    ----------
    uvi : (replicate, n) float
        UV index per watt of the lamp.
    step : float [m]
        Width of a cell.
    """

    uvi: FloatArray
    step: float


@dataclass(frozen=True)
class FixturePlane:
    """A plane through the middle of a lamp, with meters that look back at it; lengths in metres.

    Attributes
    ----------
    side : str
        ``across`` the lamp or ``along`` it.
    lateral : (float, float)
        Extent square to the facing, from the lamp's middle.
    distance : (float, float)
        Extent along the facing, from the lamp's middle; it begins behind the lamp, to show all of the fixture.
    uvi : (replicate, distance, lateral) float
        UV index per watt, NaN where nothing is read; both axes ascend.
    lines : (n, 2, 2) float
        What the plane cuts of the lamp and its reflectors: two ends each, lateral and distance.
    """

    side: str
    lateral: tuple[float, float]
    distance: tuple[float, float]
    uvi: FloatArray
    lines: FloatArray


@dataclass(frozen=True)
class FixtureTrace:
    """A lamp traced with the reflectors attached to it in free space, by replicate; bands b, distances d.

    Attributes
    ----------
    scene, lamp : str
        Name of the scene file, and of the lamp.
    finish : str
        Name of the law that took the place of all its reflectors' own; empty where they kept theirs.
    record : LampRecord
        The lamp at its power.
    deviation : (replicate,) float
        Relative deviation of each replicate's power, where it was solved from readings.
    edges_nm : (b + 1,) float
    kinds, names : tuple of str
        Of each fate of a photon: ``ahead`` and ``behind`` leave the fixture into the half space that the lamp faces and
        into the other; ``lamp`` and ``reflector`` are absorbed there; ``unfinished`` was given up.
    fates : (replicate, fate, b) float
        Share of the photons that met each; the fates of a replicate and band add up to one.
    distances : (d,) float [m]
        From the lamp's axis or middle, along its facing.
    uvi : (replicate, d) float
        UV index per watt at each, of a meter that looks at the lamp.
    uvb : (replicate, d) float [W m-2]
        The same of UVB to 320 nm.
    below_298 : (replicate, d) float
        The part of `uvi` that arrives below 298 nm.
    across, along : tuple of Strip
        At each distance: square to the lamp's axis, and along it.
    histories : int
    planes : tuple of FixturePlane
        Where they were asked for.
    """

    scene: str
    lamp: str
    finish: str
    record: LampRecord
    deviation: FloatArray
    edges_nm: FloatArray
    kinds: tuple[FateKind, ...]
    names: tuple[str, ...]
    fates: FloatArray
    distances: FloatArray
    uvi: FloatArray
    uvb: FloatArray
    below_298: FloatArray
    across: tuple[Strip, ...]
    along: tuple[Strip, ...]
    histories: int
    planes: tuple[FixturePlane, ...] = ()

    def share(self, weighting: str, *kinds: FateKind, name: str | None = None) -> Estimate | None:
        """Return the share of the lamp's light that met fates of some kinds; None where it has none of that weight.

        Parameters
        ----------
        weighting : str
            Name of a weighting, or an empty one for radiant power.
        kinds : FateKind
        name : str, optional
            Only what was absorbed by the surface of this name.
        """
        power = self.record.spectrum.band_power(self.edges_nm)
        if weighting:
            power = power * band_factors(self.record, self.edges_nm, WEIGHTINGS[weighting])
        if power.sum() <= 0.0:
            return None
        rows = [
            row for row, kind in enumerate(self.kinds) if kind in kinds and (name is None or name == self.names[row])
        ]
        values: FloatArray = self.fates[:, rows].sum(axis=1) @ (power / power.sum())
        return estimate(values)

    @property
    def power(self) -> Estimate:
        """Radiant power at which the lamp is told [W]; where it was stated it has no error."""
        factors = estimate(1.0 + self.deviation)
        return Estimate(np.array(self.record.radiant_power), self.record.radiant_power * factors.se, factors.replicates)

    def uvi_per_watt(self) -> Estimate:
        """Return the UV index per watt of radiant power at each distance, (d,)."""
        return estimate(self.uvi)

    def uvi_at_power(self) -> Estimate:
        """Return the UV index at each distance at the lamp's power, the error of its readings included, (d,)."""
        return self.at_power(self.uvi)

    def uvb_at_power(self) -> Estimate:
        """Return the UVB irradiance to 320 nm at each distance at the lamp's power, (d,) [W m-2]."""
        return self.at_power(self.uvb)

    def at_power(self, per_watt: FloatArray) -> Estimate:
        """Return numbers at the lamp's power, the error of its readings included.

        Parameters
        ----------
        per_watt : (replicate, ...) float
        """
        factor = self.record.radiant_power * (1.0 + self.deviation)
        return estimate(per_watt * factor.reshape(-1, *(1,) * (per_watt.ndim - 1)))

    def share_below_298(self, row: int) -> Share:
        """Return the share of the UV index at a distance, by its row, that arrives below 298 nm."""
        return ratio_share(self.below_298[:, row], self.uvi[:, row])

    def widths(self, row: int) -> tuple["Width", "Width"]:
        """Return the width of the lit band across the lamp and along it at a distance, by its row."""
        return tuple(  # type: ignore[return-value]  # of two strips
            Width(*width_with_error(strip.uvi, strip.step), len(strip.uvi))
            for strip in (self.across[row], self.along[row])
        )


@dataclass(frozen=True)
class Width:
    """Full width at half maximum and its standard error [m].

    The width is NaN where the band has no end or no light, the error also where noise hides an end now and then.
    """

    value: float
    se: float
    replicates: int

    @property
    def half_width(self) -> float:
        """Half of the 95 % interval [m]."""
        return t_factor(self.replicates) * self.se
