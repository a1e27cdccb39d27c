"""Whether the lamps of a scene give light, and whether that light comes to an end."""

from collections.abc import Iterator

import numpy as np

from sim.furniture.plate import Plate
from sim.lamps.any_lamp import Lamp
from sim.lamps.emission import Emission
from sim.materials.surface import Surface
from sim.reflectors.base import ReflectorBase
from sim.scene.finding import Finding
from sim.scene.library import emission
from sim.scene.light_paths import lets_through, losses, sample_wavelengths
from sim.scene.model import Scene
from sim.scene.position import KeyPath
from sim.scene.references import law_references
from sim.spectra.weighting import WEIGHTINGS

ENDLESS = 1e-9
"""Losses below this are those of rounding: light that meets no larger one never ends."""
SLOW = 0.01
"""Mean loss a bounce below which a run takes long enough to say so."""


def lighting_findings(scene: Scene, surfaces: list[Surface], sheets: list[Surface]) -> list[Finding]:
    """Return what is wrong with the light of a scene.

    Parameters
    ----------
    scene : Scene
    surfaces : list of Surface
        Of the enclosure and of the parts.
    sheets : list of Surface
        Of the reflectors.
    """
    findings = [finding for index, lamp in enumerate(scene.lamps) for finding in _of_lamp(scene, index, lamp)]
    if scene.enclosure is not None and surfaces:
        findings += _endless(scene, surfaces, sheets)
    return [*findings, *_one_way(scene), *_unused_laws(scene)]


def _one_way(scene: Scene) -> Iterator[Finding]:
    """Yield a finding for each sheet that is said to let light through and to be another one from behind."""
    sheets: list[tuple[KeyPath, ReflectorBase | Plate, str]] = [
        *((("reflectors", index), sheet, "outside") for index, sheet in enumerate(scene.reflectors)),
        *((("parts", index), part, "back") for index, part in enumerate(scene.parts) if isinstance(part, Plate)),
    ]
    for where, sheet, key in sheets:
        behind = getattr(sheet, key) if key in sheet.model_fields_set else None
        if behind is None or scene.law(sheet.law) == scene.law(behind):
            continue
        if lets_through(scene.law(sheet.law)) or lets_through(scene.law(behind)):
            message = f"light that gets through a sheet does so both ways: give 'law' and '{key}' the same law"
            yield Finding("error", (*where, key), message)


def _of_lamp(scene: Scene, index: int, lamp: Lamp) -> Iterator[Finding]:
    where: KeyPath = ("lamps", index)
    if lets_through(scene.law(lamp.body)):
        yield Finding("error", (*where, "body"), "a lamp's body lets nothing through; give it a law that is opaque")
    if lamp.strength == 0.0:
        yield Finding("warning", (*where, _what_puts_out(lamp)), "the lamp is off; its maps will be zero")
    if lamp.doubt is not None:
        yield Finding("warning", where, lamp.doubt)
    spectrum = emission(lamp.spectrum) if isinstance(lamp.spectrum, str) else lamp.spectrum
    yield from _power(scene, where, lamp, spectrum)


def _what_puts_out(lamp: Lamp) -> str:
    if lamp.level == 0.0:
        return "level"
    if lamp.warm_up is not None and lamp.warm_up.factor == 0.0:
        return "warm_up"
    return "maintained" if lamp.age is None else "age"


def _power(scene: Scene, where: KeyPath, lamp: Lamp, source: Emission) -> Iterator[Finding]:
    low, high = scene.run.wavelengths
    try:
        spectrum = source.spectrum(emission, low, high, scene.law)
    except ValueError as error:
        yield Finding("error", (*where, "spectrum"), str(error))
        return
    references = lamp.output.references()
    for name in sorted({reference.weighting for reference in references}):
        if not spectrum.weighted(WEIGHTINGS[name], low, high) > 0.0:
            message = (
                f"the lamp's spectrum between {low:g} and {high:g} nm has nothing that a reading by "
                f"{name} sees; widen run.wavelengths, or give its output another way"
            )
            yield Finding("error", (*where, "output"), message)
    if references:
        return
    try:
        lamp.output.radiant_power(spectrum, low, high)
        warning = lamp.output.over_the_ceiling(spectrum, low, high)
    except ValueError as error:
        yield Finding("error", (*where, "output"), str(error))
        return
    if warning is not None:
        yield Finding("warning", (*where, "output"), warning)


def _endless(scene: Scene, surfaces: list[Surface], sheets: list[Surface]) -> Iterator[Finding]:
    """Yield a finding where light bounces for ever, or nearly so."""
    if scene.enclosure is not None and any(opening.cover is None for opening in scene.enclosure.openings):
        return
    wavelength = sample_wavelengths(scene.run.wavelengths)
    walls = set(scene.wall_names)
    rows = [
        (float(surface.mesh.areas.sum()), losses(scene.law(law), wavelength, surface.name in walls))
        for surface in (*surfaces, *sheets)
        for law in (surface.law, surface.back_law)
        if law is not None
    ]
    rows += [(float(lamp.shape().lit_area), losses(scene.law(lamp.body), wavelength, False)) for lamp in scene.lamps]
    most = np.max([loss for _, loss in rows], axis=0)
    if most.min() < ENDLESS:
        message = (
            f"nothing in this closed box absorbs light at {wavelength[most.argmin()]:g} nm, so it would never end; "
            "lower a reflectance below 1, or cut an opening"
        )
        yield Finding("error", ("enclosure",), message)
        return
    areas = np.array([area for area, _ in rows])
    mean = float((areas @ np.array([loss for _, loss in rows])).min() / areas.sum())
    if mean < SLOW:
        message = f"only {mean:.2%} of the light is lost at a bounce, so photons live for about {1 / mean:.0f} of them"
        yield Finding("warning", ("enclosure",), f"{message}; expect a slow run, or lower the reflectances")


def _unused_laws(scene: Scene) -> Iterator[Finding]:
    used = {name for _, name in law_references(scene)}
    for name in scene.laws:
        if name not in used:
            yield Finding("warning", ("laws", name), "no surface has this law; use it, or leave it out")
