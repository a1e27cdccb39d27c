"""Exposure zones: the four bands of mean UV index that reptiles choose in the wild."""

from typing import NamedTuple


class ExposureZone(NamedTuple):
    """One of the four zones, in units of the UV index.

    Attributes
    ----------
    low, high : float
        Band of the mean exposure of the species in this zone.
    highest : float
        Highest single reading taken on any of them: a ceiling for the brightest spot in reach, not an aim.

    Notes
    -----
    The readings come from fifteen species of lizards and snakes, mostly about midday and in spring. They say what
    the animals of a zone received, not what harms or what suffices, and they carry over to a lamp only as far as
    its UVB spectrum is like the sun's.

    References
    ----------
    G. W. Ferguson et al., "Voluntary exposure of some western-hemisphere snake and lizard species to ultraviolet-B
    radiation in the field: how much ultraviolet-B should a lizard or snake receive in captivity?", Zoo Biology 29,
    317-334, 2010, doi:10.1002/zoo.20255. Bounds of the bands and highest readings as common practice gives them.
    """

    low: float
    high: float
    highest: float


EXPOSURE_ZONES: dict[int, ExposureZone] = {
    1: ExposureZone(0.0, 0.7, 1.4),
    2: ExposureZone(0.7, 1.0, 3.0),
    3: ExposureZone(1.0, 2.6, 7.4),
    4: ExposureZone(2.6, 3.5, 9.5),
}


def exposure_zone_of(mean: float) -> int | None:
    """Return the number of the zone whose band holds a mean UV index; None above the last.

    A mean on a boundary belongs to the brighter zone, so 0.7 is zone 2 and 1.0 is zone 3: the side that makes
    nobody take strong light for weak. Only the top of zone 4 belongs to zone 4 itself.

    Raises
    ------
    ValueError
        For a mean below zero or not a number.
    """
    if not mean >= 0.0:
        raise ValueError(f"a mean UV index cannot be {mean:g}")
    for number, zone in EXPOSURE_ZONES.items():
        if zone.low <= mean < zone.high:
            return number
    return 4 if mean == EXPOSURE_ZONES[4].high else None
