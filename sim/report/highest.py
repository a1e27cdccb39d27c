"""A highest place in words, and why another number can stand for the same place elsewhere."""

from sim.analysis.coverage import SceneAnswer
from sim.analysis.extremes import Place
from sim.analysis.numbers import plain, with_error


def value_words(place: Place) -> str:
    """Return the value of an extreme with its error: what is told of it on maps, in tables and in words alike."""
    return with_error(place.value, place.half_width)


def cell_words(place: Place) -> str:
    """Return what the cell of a highest place reads as it is drawn, or nothing where that is the same number."""
    if plain(place.on_map) == plain(place.value):
        return ""
    return f"its cell is drawn as {plain(place.on_map)}, part of which is the luck of the highest of many"


def note_beside(told: SceneAnswer) -> str:
    """Return why a zone or a hot spot has another highest value than the highest within reach, or nothing.

    Neither is raised by the luck of its pick, but they pick among different cells: so one place can have two values,
    and a zone's can be above that of all within reach. The error of a value is that of the places picked; that half of
    the replicates picked a darker place than the brightest lowers the value and is no part of its error. Where rare
    paths make cells bright, that is the more likely the more cells there are.
    """
    if told.peak is None:
        return ""
    peak = told.peak.place
    others = [(f"zone {zone.name}", zone.high) for zone in told.zones if zone.reachable]
    spots = (spot.peak for spot in told.hot_spots if spot.peak.kind != "zone")
    others += [(f"the hot spot over {spot.place.group}", spot.place) for spot in spots]
    apart = [
        (name, place)
        for name, place in others
        if (place.row == peak.row or place.value > peak.value) and value_words(place) != value_words(peak)
    ]
    if not apart:
        return ""
    name, place = max(apart, key=lambda other: other[1].value)
    both = f"It is picked among all cells within reach; picked among its own, {name} has {value_words(place)}."
    if abs(place.value - peak.value) <= max(place.half_width, peak.half_width):
        return f"{both} The two differ by less than the larger of their errors."
    return (
        f"{both} A pick among many noisy cells can miss the brightest place, and then reads lower by more than its "
        "error says: go by the higher. More photons bring the two together."
    )
