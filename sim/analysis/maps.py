"""Maps: any weighted irradiance at every receiver, replicate by replicate."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from sim.spectra.weighting import WEIGHTINGS, Weighting
from sim.tally.lamp_record import LampRecord
from sim.tally.result import FloatArray, Group, Result


def band_factors(lamp: LampRecord, edges_nm: FloatArray, weighting: Weighting) -> FloatArray:
    """Return what a W/m2 of a lamp's light in each band counts for, by its own spectrum inside the band.

    Parameters
    ----------
    lamp : LampRecord
    edges_nm : (band + 1,) float [nm]
    weighting : Weighting

    Returns
    -------
    (band,) float [unit of the weighting per W m-2]
        ``scale x integral(spectrum x weighting) / integral(spectrum)`` over the band; zero where the lamp is dark.
    """
    power = lamp.spectrum.band_power(edges_nm)
    weighted = weighting.scale * lamp.spectrum.band_weighted(weighting, edges_nm)
    return np.divide(weighted, power, out=np.zeros_like(power), where=power > 0)


def quantity(result: Result, weighting: Weighting | str, levels: npt.ArrayLike | None = None) -> FloatArray:
    """Return a weighted irradiance at every receiver.

    Parameters
    ----------
    result : Result
    weighting : Weighting or str
        A weighting, or the name of one in `sim.spectra.WEIGHTINGS`.
    levels : (lamp,) float, >= 0, optional
        Factors on the lamps' powers; all one where left out. Everything is linear in the lamps.

    Returns
    -------
    (replicate, receiver) float [unit of the weighting]

    Raises
    ------
    KeyError
        If there is no weighting of that name.
    ValueError
        If `levels` has another length than the lamps, or an entry that is negative or not finite.
    """
    return _summed(result, _factors(result, weighting), levels)


def _factors(result: Result, weighting: Weighting | str) -> FloatArray:
    """Return what each lamp's light counts for, (lamp, band); see `band_factors`."""
    chosen = WEIGHTINGS[weighting] if isinstance(weighting, str) else weighting
    factors = [band_factors(lamp, result.edges_nm, chosen) for lamp in result.lamps]
    return np.reshape(factors, result.irradiance.shape[2:])


def unweighted(result: Result, levels: npt.ArrayLike | None = None) -> FloatArray:
    """Return the irradiance over all bands at every receiver, (replicate, receiver) float [W m-2].

    Parameters
    ----------
    result : Result
    levels : (lamp,) float, >= 0, optional
        See `quantity`.
    """
    return _summed(result, np.ones(result.irradiance.shape[2:]), levels)


def _summed(result: Result, factors: FloatArray, levels: npt.ArrayLike | None) -> FloatArray:
    scaled = factors * _checked_levels(result, levels)[:, None]
    # One replicate at a time: a double copy of the whole array could be gigabytes.
    return np.array([np.einsum("rlb,lb->r", one, scaled) for one in result.irradiance])


def _checked_levels(result: Result, levels: npt.ArrayLike | None) -> FloatArray:
    count = len(result.lamps)
    factors = np.ones(count) if levels is None else np.asarray(levels, dtype=np.float64)
    if factors.shape != (count,):
        raise ValueError(f"levels need one factor a lamp: {count}, not {factors.shape}")
    if not np.all(np.isfinite(factors) & (factors >= 0)):
        raise ValueError("levels must be finite factors of 0 or more")
    return factors


@dataclass(frozen=True)
class Maps:
    """Every quantity of a result at given lamp levels, each computed once.

    Attributes
    ----------
    result : Result
    levels : (lamp,) float, optional
        Factors on the lamps' powers.
    """

    result: Result
    levels: npt.ArrayLike | None = None
    _known: dict[str, FloatArray] = field(default_factory=dict, repr=False)
    _factors: dict[str, FloatArray] = field(default_factory=dict, repr=False)
    _light: dict[tuple[int, int], FloatArray] = field(default_factory=dict, repr=False)

    def of(self, weighting: Weighting | str) -> FloatArray:
        """Return a weighted irradiance, (replicate, receiver); see `quantity`."""
        name = weighting if isinstance(weighting, str) else weighting.name
        if name not in self._known:
            self._known[name] = quantity(self.result, weighting, self.levels)
        return self._known[name]

    def read(self, names: Iterable[str]) -> None:
        """Have several quantities ready, by one walk through the result: half the work of one for each."""
        missing = [name for name in names if name not in self._known]
        if missing:
            scaled = np.array([_factors(self.result, name) for name in missing])
            scaled *= _checked_levels(self.result, self.levels)[:, None]
            found = np.array([np.einsum("rlb,qlb->qr", one, scaled) for one in self.result.irradiance])
            self._known.update({name: np.ascontiguousarray(found[:, row]) for row, name in enumerate(missing)})

    @property
    def uvi(self) -> FloatArray:
        """UV index, (replicate, receiver)."""
        return self.of("uvi")

    @property
    def irradiance(self) -> FloatArray:
        """Unweighted irradiance over all bands, (replicate, receiver) [W m-2]."""
        if "" not in self._known:
            self._known[""] = unweighted(self.result, self.levels)
        return self._known[""]

    def mean_of(self, group: Group, weighting: Weighting | str) -> FloatArray:
        """Return the area mean of a weighted irradiance over a group's receivers, (replicate,), from these alone."""
        name = weighting if isinstance(weighting, str) else weighting.name
        if name in self._known:
            return self.mean_over(group, self._known[name])
        if name not in self._factors:
            self._factors[name] = _factors(self.result, weighting) * _checked_levels(self.result, self.levels)[:, None]
        means: FloatArray = np.einsum("klb,lb->k", self._mean_light(group), self._factors[name])
        return means

    def _mean_light(self, group: Group) -> FloatArray:
        """Return the area mean of the irradiance over a group's receivers, (replicate, lamp, band) [W m-2]."""
        key = group.first, group.count
        if key not in self._light:
            rows = counted_rows(self.result, group)
            weights = area_weights(self.result.area[rows])
            light = [np.einsum("r,rlb->lb", weights, one[rows]) for one in self.result.irradiance]
            self._light[key] = np.array(light)
        return self._light[key]

    def mean_over(self, group: Group, values: FloatArray) -> FloatArray:
        """Return the area mean over a group's receivers, (replicate,), of values (replicate, receiver)."""
        rows = counted_rows(self.result, group)
        return values[:, rows] @ area_weights(self.result.area[rows])


def area_weights(area: FloatArray) -> FloatArray:
    """Return weights that sum to one: by area, or equal where no receiver has an area.

    Parameters
    ----------
    area : (n,) float, >= 0 [m2]

    Returns
    -------
    (n,) float
    """
    total = float(area.sum())
    if total > 0:
        return area / total
    return np.full(area.shape, 1.0 / max(1, area.size))


def counted(area: FloatArray) -> npt.NDArray[np.bool_]:
    """Return which receivers count, (n,): cells cut away whole by an opening have no area and are none."""
    return area > 0 if bool(np.any(area > 0)) else np.full(area.shape, True)


def counted_rows(result: Result, group: Group) -> npt.NDArray[np.int64]:
    """Return the rows of a group's receivers that count, see `counted`."""
    return group.first + np.flatnonzero(counted(result.area[group.rows]))
