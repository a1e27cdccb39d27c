"""Names within a scene: each given once, and each that is used given."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple, get_args

from pydantic import BaseModel

from sim.lamps.emission import Emission
from sim.materials.law import Black
from sim.scene.fault import Fault, key_text
from sim.scene.library import emission, lamp_spectrum_names, law_names
from sim.scene.position import KeyPath
from sim.scene.vocabulary import suggestion

if TYPE_CHECKING:
    from sim.scene.model import Scene


class Reference(NamedTuple):
    """A name that a scene uses, and where."""

    path: KeyPath
    name: str


def law_references(scene: "Scene") -> list[Reference]:
    """Return every place where a scene names a law instead of spelling it out."""
    return list(_references(scene, (), Black))


def spectrum_references(scene: "Scene") -> list[Reference]:
    """Return every place where a scene names a lamp spectrum instead of spelling it out."""
    return list(_references(scene, (), Emission))


def reference_faults(scene: "Scene") -> list[Fault]:
    """Return what is wrong with the names of a scene: doubled ones, and ones that nothing has."""
    return [*_doubled(scene), *_unknown(scene)]


def _references(value: object, path: KeyPath, kind: type[BaseModel]) -> Iterator[Reference]:
    if isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            inner = getattr(value, name)
            place = (*path, field.alias or name)
            if _takes(field.annotation, kind):
                yield from (Reference(*found) for found in _texts(inner, place))
            yield from _references(inner, place, kind)
    else:
        for key, inner in _entries(value):
            yield from _references(inner, (*path, key), kind)


def _texts(value: object, path: KeyPath) -> Iterator[tuple[KeyPath, str]]:
    """Yield the texts that stand at a path or in the containers there; those within a table are its own affair."""
    if isinstance(value, str):
        yield path, value
    for key, inner in _entries(value):
        yield from _texts(inner, (*path, key))


def _entries(value: object) -> Iterator[tuple[str | int, object]]:
    if isinstance(value, Mapping):
        yield from value.items()
    elif isinstance(value, tuple | list):
        yield from enumerate(value)


def _takes(annotation: object, kind: type[BaseModel]) -> bool:
    """Whether a field may hold either a text or a model of some kind."""
    leaves = list(_leaves(annotation))
    return any(leaf is kind for leaf in leaves) and any(leaf is str for leaf in leaves)


def _leaves(annotation: object) -> Iterator[object]:
    yield annotation
    for part in get_args(annotation):
        # The metadata of Annotated are no types; they have no arguments and match nothing.
        yield from _leaves(part)


def _named(scene: "Scene") -> Iterator[tuple[KeyPath, str, str]]:
    """Yield where each name is given, what has it and the name."""
    for wall in scene.wall_names:
        yield ("enclosure",), "wall", wall
    for key, noun in _LISTS.items():
        for index, thing in enumerate(getattr(scene, key)):
            yield (key, index, "name"), noun, thing.name


_LISTS = {"lamps": "lamp", "reflectors": "reflector", "parts": "part", "sensors": "sensor", "zones": "zone"}


def _doubled(scene: "Scene") -> Iterator[Fault]:
    first: dict[str, tuple[KeyPath, str]] = {}
    for path, noun, name in _named(scene):
        if name in first:
            place, other = first[name]
            what = f"a {other} is" if other == "wall" else f"{key_text(place[:-1])} is"
            yield Fault(path, f"{what} called '{name}' already; give this {noun} another name")
        first.setdefault(name, (path, noun))
    yield from _like_surfaces(scene, first)


def _like_surfaces(scene: "Scene", given: Mapping[str, tuple[KeyPath, str]]) -> Iterator[Fault]:
    """Yield names that are those of a surface of something else, such as a part called 'ledge.top' beside a ledge."""
    for owner, surfaces in scene.part_surface_names.items():
        for name in surfaces:
            path, noun = given.get(name, ((), ""))
            if noun and noun != "wall" and name != owner:
                yield Fault(path, f"'{name}' is a surface of '{owner}' already; give this {noun} another name")


def _unknown(scene: "Scene") -> Iterator[Fault]:
    laws = {*scene.laws, *law_names()}
    for path, name in law_references(scene):
        if name not in laws:
            yield Fault(path, f"no law is called '{name}'; {suggestion(name, laws, 'laws')}")
    spectra = lamp_spectrum_names()
    for path, name in spectrum_references(scene):
        if name not in spectra:
            yield Fault(path, f"no lamp spectrum is called '{name}'; {suggestion(name, spectra, 'spectra')}")
    yield from _unknown_lamps(scene)
    yield from _unknown_surfaces(scene)


def _unknown_lamps(scene: "Scene") -> Iterator[Fault]:
    lamps = [lamp.name for lamp in scene.lamps]
    users = [(("reflectors", i, "lamp"), getattr(item, "lamp", None)) for i, item in enumerate(scene.reflectors)]
    users += [(("sensors", i, "towards"), getattr(item, "towards", None)) for i, item in enumerate(scene.sensors)]
    for path, name in users:
        if name is not None and name not in lamps:
            yield Fault(path, f"no lamp is called '{name}'; {suggestion(name, lamps, 'lamps')}")


def _unknown_surfaces(scene: "Scene") -> Iterator[Fault]:
    surfaces = [*scene.wall_names, *(name for names in scene.part_surface_names.values() for name in names)]
    users: list[tuple[KeyPath, str]] = [
        (("animal", "reach", index), name) for index, name in enumerate(scene.animal.reach or ())
    ]
    users += [(("zones", i, "surface"), zone.surface) for i, zone in enumerate(scene.zones) if zone.surface]
    for path, name in users:
        if name not in surfaces:
            yield Fault(path, f"no surface is called '{name}'; {_surface_hint(name, scene, surfaces)}")


def _surface_hint(name: str, scene: "Scene", surfaces: list[str]) -> str:
    sides = scene.part_surface_names.get(name)
    if sides:
        return f"'{name}' has the surfaces {', '.join(sides)}"
    return suggestion(name, surfaces, "surfaces")


def packaged_spectra(scene: "Scene") -> dict[str, Emission]:
    """Return the packaged lamp spectra that a scene uses, those within others included, by name."""
    found: dict[str, Emission] = {}
    waiting = [name for _, name in spectrum_references(scene)]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found[name] = emission(name)
            waiting += [inner for _, inner in _references(found[name], (), Emission)]
    return dict(sorted(found.items()))
