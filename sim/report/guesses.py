"""Values in a scene that nobody measured: said wherever its numbers are shown."""

from collections.abc import Iterator, Sequence
from typing import Any

from sim.scene import library

BODY = "the {bodies} of {lamps} {are} taken to reflect 30 % of what falls on {them}, a guess"


def guessed_values(scene: dict[str, Any]) -> Sequence[str]:
    """Return one sentence for each guess that a scene rests on.

    Parameters
    ----------
    scene : dict
        The validated scene as JSON, defaults left out, as a Result carries it.
    """
    told = []
    own = set(scene.get("laws", {}))
    strings = set(_strings(scene))
    for name in library.law_names():
        entry = library.law_entry(name)
        if name in strings and name not in own and entry.kind_of_value == "guess":
            noun = "screen" if name in library.screen_names() else "material"
            told.append(f"the {noun} '{name}' ({entry.title}) is a guess")
    for name in library.lamp_spectrum_names():
        if name in strings and library.lamp_spectrum_entry(name).kind_of_value == "guess":
            told.append(f"the spectrum '{name}' ({library.lamp_spectrum_entry(name).title}) is a guess")
    bare = [f"'{lamp['name']}'" for lamp in scene.get("lamps", ()) if "body" not in lamp]
    if len(bare) == 1:
        told.append(BODY.format(bodies="body", lamps=f"lamp {bare[0]}", are="is", them="it"))
    elif bare:
        lamps = f"lamps {', '.join(bare[:-1])} and {bare[-1]}"
        told.append(BODY.format(bodies="bodies", lamps=lamps, are="are", them="them"))
    return told


def _strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _strings(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _strings(inner)
