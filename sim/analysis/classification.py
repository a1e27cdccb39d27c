"""Which exposure zone a pair of readings fits."""

from dataclasses import dataclass

from sim.analysis.numbers import plain
from sim.scene.exposure_zone import EXPOSURE_ZONES, exposure_zone_of


@dataclass(frozen=True)
class Classification:
    """The exposure zone that a mean and a highest UVI belong to.

    Attributes
    ----------
    zone : int, optional
        1 to 4 by the mean; None above the last.
    over_max : bool
        Whether the highest reading is over the zone's highest.
    words : str
    """

    zone: int | None
    over_max: bool
    words: str

    @property
    def fits(self) -> bool:
        """Whether both numbers agree with the zone."""
        return self.zone is not None and not self.over_max


def classify(mean: float, highest: float) -> Classification:
    """Return the exposure zone of a mean and a highest UVI.

    Parameters
    ----------
    mean : float, >= 0
        On the boundary of two zones it belongs to the brighter one.
    highest : float
        On the zone's highest reading it is not over it.

    Raises
    ------
    ValueError
        If the mean is negative or not a number.

    References
    ----------
    See `sim.scene.exposure_zone.ExposureZone`.
    """
    zone = exposure_zone_of(mean)
    if zone is None:
        top = EXPOSURE_ZONES[max(EXPOSURE_ZONES)].high
        return Classification(None, True, f"above zone {max(EXPOSURE_ZONES)}, whose mean ends at {plain(top)}")
    ceiling = EXPOSURE_ZONES[zone].highest
    if highest > ceiling:
        return Classification(zone, True, f"zone {zone} by its mean, but its highest is over {plain(ceiling)}")
    return Classification(zone, False, f"zone {zone}")
