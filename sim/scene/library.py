"""The packaged materials, screens and lamp spectra, read when they are first asked for."""

import tomllib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Literal

from sim.lamps.emission import Emission
from sim.materials.law import Law
from sim.spec import Spec

KindOfValue = Literal["measured", "computed", "guess"]


class _Described(Spec):
    """What every file of the library says about its numbers."""

    title: str
    source: str
    kind_of_value: KindOfValue
    licence: str
    note: str = ""


class Material(_Described):
    """A packaged surface law, a screen among them, with where it comes from.

    =============  ======================================================================
    key            meaning
    =============  ======================================================================
    title          what it is
    source         where its numbers come from
    kind_of_value  measured | computed | guess
    licence        of those numbers
    note           what to beware of
    measured_over  wavelengths that the source covers; beyond them values are held
    law            the law itself, with ``low`` and ``high`` where a range is known
    =============  ======================================================================
    """

    law: Law
    measured_over: tuple[str, str] | None = None


class LampSpectrum(_Described):
    """A packaged lamp spectrum with where it comes from; keys as in `Material`, but a spectrum for the law."""

    spectrum: Emission


def _folder(name: str) -> Traversable:
    return files("sim") / "data" / name


@cache
def _names(folder: str) -> tuple[str, ...]:
    entries = (entry.name for entry in _folder(folder).iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in entries if name.endswith(".toml")))


def material_names() -> tuple[str, ...]:
    """Return the names of all packaged materials, sorted."""
    return _names("materials")


def screen_names() -> tuple[str, ...]:
    """Return the names of all packaged screens, sorted."""
    return _names("screens")


def law_names() -> tuple[str, ...]:
    """Return every name that the library has a law for: materials and screens, sorted."""
    return tuple(sorted((*material_names(), *screen_names())))


def lamp_spectrum_names() -> tuple[str, ...]:
    """Return the names of all packaged lamp spectra, sorted."""
    return _names("lamps")


@cache
def material_entry(name: str) -> Material:
    """Return a packaged material with its source.

    Raises
    ------
    KeyError
        If the library has none of that name.
    """
    return Material.model_validate(_read("materials", name))


@cache
def screen_entry(name: str) -> Material:
    """Return a packaged screen with its source.

    Raises
    ------
    KeyError
        If the library has none of that name.
    """
    return Material.model_validate(_read("screens", name))


def law_entry(name: str) -> Material:
    """Return a packaged material or screen with its source; raises KeyError for an unknown name."""
    return screen_entry(name) if name in screen_names() else material_entry(name)


@cache
def lamp_spectrum_entry(name: str) -> LampSpectrum:
    """Return a packaged lamp spectrum with its source.

    Raises
    ------
    KeyError
        If the library has none of that name.
    """
    return LampSpectrum.model_validate(_read("lamps", name))


def material(name: str) -> Law:
    """Return the law of a packaged material or screen; raises KeyError for an unknown name."""
    return law_entry(name).law


def emission(name: str) -> Emission:
    """Return the emission of a packaged lamp spectrum; raises KeyError for an unknown name."""
    return lamp_spectrum_entry(name).spectrum


def _read(folder: str, name: str) -> dict[str, object]:
    if name not in _names(folder):
        raise KeyError(name)
    return tomllib.loads((_folder(folder) / f"{name}.toml").read_text(encoding="utf-8"))
