"""What a result knows of a lamp."""

from dataclasses import dataclass
from typing import Any

from sim.spectra.spectrum import Spectrum

DOUBT = 0.01
"""Readings whose chi-square is less likely than this are told to disagree with the model."""


@dataclass(frozen=True)
class FittedReading:
    """A reading that a lamp's power was fitted to, and what the model gives there.

    Attributes
    ----------
    weighting : str
        Name of the weighting: ``uvi``, ``uvb-315`` or ``uvb-320``.
    distance : float [m]
    stated, error : float [UV index, or W/m2], [relative]
        The reading and its standard error.
    computed, computed_error : float [UV index, or W/m2], [relative]
        The model's value at the fitted power, and its own standard error.
    """

    weighting: str
    distance: float
    stated: float
    error: float
    computed: float
    computed_error: float

    @property
    def difference(self) -> float:
        """Reading over model, less one."""
        return self.stated / self.computed - 1.0


@dataclass(frozen=True)
class Agreement:
    """How well readings agree with one power: chi-square, its degrees of freedom, and the chance of one so large."""

    chi_square: float
    freedom: int
    chance: float

    @property
    def doubtful(self) -> bool:
        """Whether the readings disagree by more than their errors admit, at the level `DOUBT`."""
        return self.chance < DOUBT


@dataclass(frozen=True)
class LampRecord:
    """A lamp as it was traced.

    Attributes
    ----------
    name : str
    radiant_power : float [W]
        Over the bands.
    spectrum : Spectrum
        At that power.
    centre, facing : (float, float, float)
    notes : tuple of str
        For the reader.
    power_range : (float, float)
        Factors on the power between which it is known, besides the error of the run; ones where it was stated.
    range_from : str
        Why; empty where there is no range.
    readings : tuple of FittedReading
        Of a table of readings.
    agreement : Agreement, optional
        Of two or more readings.
    missed_at : tuple of str
        Sensors and zones at which few paths meet it in curved mirrors: such light may be missing there, and in errors.
    """

    name: str
    radiant_power: float
    spectrum: Spectrum
    centre: tuple[float, float, float]
    facing: tuple[float, float, float]
    notes: tuple[str, ...] = ()
    power_range: tuple[float, float] = (1.0, 1.0)
    range_from: str = ""
    readings: tuple[FittedReading, ...] = ()
    agreement: Agreement | None = None
    missed_at: tuple[str, ...] = ()

    @property
    def has_range(self) -> bool:
        """Whether its power is known only between two bounds."""
        return self.power_range != (1.0, 1.0)


def record_of(row: dict[str, Any], spectrum: Spectrum) -> LampRecord:
    """Return the lamp of a row as `dataclasses.asdict` and JSON leave it; older results lack some keys."""
    stored = row | {"spectrum": spectrum}
    for key in ("centre", "facing", "notes", "power_range", "missed_at"):
        if key in stored:
            stored[key] = tuple(stored[key])
    stored["readings"] = tuple(FittedReading(**reading) for reading in stored.get("readings", ()))
    if stored.get("agreement") is not None:
        stored["agreement"] = Agreement(**stored["agreement"])
    return LampRecord(**stored)
