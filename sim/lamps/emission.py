"""What a lamp emits by wavelength: lines, bands, mixtures and measured tables."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Annotated

from pydantic import Discriminator, Field, Tag, model_validator

from sim.lamps.envelope import Envelope
from sim.materials.law import Law, LawRef
from sim.spec import Name, SceneFile, Spec
from sim.spectra.spectrum import Spectrum
from sim.units import Wavelength

Weight = Annotated[float, Field(gt=0.0)]
Lookup = Callable[[str], "Emission"]
"""Finds an emission by the name that a scene or the library gives it."""
LawLookup = Callable[[LawRef], Law]
"""Finds the law that a name means."""


def _no_law(reference: LawRef) -> Law:
    if isinstance(reference, str):
        raise ValueError(f"envelope: no law is called '{reference}' here")
    return reference


@dataclass(frozen=True)
class _Surroundings:
    """What a spectrum depends on besides itself: where names are found, the run's wavelengths, mixtures around it."""

    lookup: Lookup
    law: LawLookup
    limits: tuple[float, float]
    names: tuple[str, ...] = ()


class Line(Spec):
    """A spectral line, narrower than any band.

    ========  =================================================  ================
    key       meaning                                            unit, default
    ========  =================================================  ================
    at        its wavelength                                     wavelength
    weight    its share of the radiant power                     above 0, 1
    ========  =================================================  ================
    """

    at: Wavelength
    weight: Weight = 1.0


class Band(Spec):
    """A Gaussian band, as a phosphor emits, with hard cuts where a glass wall or a filter ends it.

    ========  =================================================  ================
    key       meaning                                            unit, default
    ========  =================================================  ================
    peak      wavelength of its maximum                          wavelength
    fwhm      full width at half maximum, uncut                  wavelength
    from      nothing below                                      wavelength, uncut
    to        nothing above                                      wavelength, uncut
    weight    its share of the radiant power                     above 0, 1
    ========  =================================================  ================
    """

    peak: Wavelength
    fwhm: Wavelength
    low: Wavelength | None = Field(default=None, alias="from")
    high: Wavelength | None = Field(default=None, alias="to")
    weight: Weight = 1.0

    @model_validator(mode="after")
    def _cuts_in_order(self) -> "Band":
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise ValueError(f"'from' ({self.low:g} nm) must lie below 'to' ({self.high:g} nm)")
        return self

    def spectrum(self) -> Spectrum:
        """Return the band with unit power between its own cuts."""
        return Spectrum.gaussian_band(self.peak, self.fwhm, self.low, self.high)


class Blend(Spec):
    """A part of a mixture: another emission, by name or spelled out.

    ========  =================================================  ================
    key       meaning                                            unit, default
    ========  =================================================  ================
    spectrum  name of a packaged spectrum, or an emission        name or table
    weight    its share of the radiant power                     above 0, 1
    ========  =================================================  ================
    """

    spectrum: "SpectrumRef"
    weight: Weight = 1.0


class Emission(Spec):
    """A spectrum made of components: lines, Gaussian bands, other spectra and a measured table.

    ===========  ==============================================================  =========================
    key          meaning                                                         unit, default
    ===========  ==============================================================  =========================
    lines        spectral lines: at, weight                                      list
    bands        Gaussian bands: peak, fwhm, from, to, weight                    list
    mix          other spectra: spectrum, weight                                 list
    csv          file of two columns, wavelength in nm and relative power per    file beside the scene
                 nm
    csv_weight   the table's share beside other components                       above 0, 1
    envelope     the glass that all of it passes (see Envelope)                  table, none
    ===========  ==============================================================  =========================

    Example::

        [lamps.spectrum]
        lines = [{ at = "313.155 nm", weight = 0.1 }]
        bands = [{ peak = "306 nm", fwhm = "40 nm", weight = 0.9 }]
        envelope = { half = "295 nm", width = "24 nm" }

    Notes
    -----
    A weight is the component's share of the lamp's radiant power over the wavelengths of the run, whatever is cut
    off beyond them or absorbed by the envelope; weights need not add up to 1, only their ratios count. A component
    without any power in the run's wavelengths cannot have a share of it, and is refused. Between its rows a file is a
    smooth curve (a monotone cubic); a spectrum that was measured outside the lamp has no envelope left to pass.
    """

    lines: tuple[Line, ...] = ()
    bands: tuple[Band, ...] = ()
    mix: tuple[Blend, ...] = ()
    csv: SceneFile | None = None
    csv_weight: Weight = 1.0
    envelope: Envelope | None = None

    @model_validator(mode="after")
    def _has_components(self) -> "Emission":
        if not (self.lines or self.bands or self.mix or self.csv):
            raise ValueError("a spectrum needs at least one of lines, bands, mix, csv")
        if self.csv is None and "csv_weight" in self.model_fields_set:
            raise ValueError("'csv_weight' needs 'csv', the file that it weighs")
        return self

    def spectrum(self, lookup: Lookup, low_nm: float, high_nm: float, law: LawLookup = _no_law) -> Spectrum:
        """Return the spectrum, scaled to unit power between two wavelengths.

        Parameters
        ----------
        lookup : callable
            Returns the emission of a name used in `mix`; it raises ValueError or KeyError for an unknown one.
        low_nm, high_nm : float [nm]
            The wavelengths of the run.
        law : callable
            Returns the law of a name used in `envelope`.

        Raises
        ------
        ValueError
            If a component has no power between the two, a mixture contains itself, or a table cannot be read.
        """
        return self._within(_Surroundings(lookup, law, (low_nm, high_nm)))

    def _within(self, around: _Surroundings) -> Spectrum:
        parts = [
            (_unit_power(self._behind_glass(part, around.law), around.limits, label), weight)
            for label, part, weight in self._components(around)
        ]
        return Spectrum.mix(parts).normalised(*around.limits)

    def _behind_glass(self, part: Spectrum, law: LawLookup) -> Spectrum:
        envelope = self.envelope
        if envelope is None:
            return part
        glass = None if envelope.glass is None else law(envelope.glass)
        return part.filtered(lambda wavelength_nm: envelope.transmittance(wavelength_nm, glass))

    def _components(self, around: _Surroundings) -> Iterator[tuple[str, Spectrum, float]]:
        """Yield how a message calls each component, its spectrum and its weight."""
        for line in self.lines:
            yield f"line at {line.at:g} nm", Spectrum.from_lines([(line.at, 1.0)]), line.weight
        for band in self.bands:
            yield f"band at {band.peak:g} nm", band.spectrum(), band.weight
        for blend in self.mix:
            yield _label(blend), _blended(blend, around), blend.weight
        if self.csv is not None:
            yield f"table {self.csv.name}", Spectrum.read_csv(self.csv), self.csv_weight


def _name_or_inline(value: object) -> str:
    return "inline" if isinstance(value, dict | Emission) else "name"


SpectrumRef = Annotated[
    Annotated[Name, Tag("name")] | Annotated[Emission, Tag("inline")], Discriminator(_name_or_inline)
]
"""The name of a packaged spectrum, or an emission spelled out."""

Blend.model_rebuild()
Emission.model_rebuild()


def _label(blend: Blend) -> str:
    return f"spectrum '{blend.spectrum}'" if isinstance(blend.spectrum, str) else "inline spectrum of 'mix'"


def _blended(blend: Blend, around: _Surroundings) -> Spectrum:
    if not isinstance(blend.spectrum, str):
        return blend.spectrum._within(around)
    if blend.spectrum in around.names:
        chain = " -> ".join(f"'{name}'" for name in (*around.names, blend.spectrum))
        raise ValueError(f"spectrum '{blend.spectrum}' is mixed into itself: {chain}")
    return around.lookup(blend.spectrum)._within(replace(around, names=(*around.names, blend.spectrum)))


def _unit_power(spectrum: Spectrum, limits: tuple[float, float], label: str) -> Spectrum:
    if not spectrum.power(*limits) > 0.0:
        raise ValueError(
            f"{label} has no power between {limits[0]:g} and {limits[1]:g} nm, the wavelengths of the run; "
            "leave it out or widen them"
        )
    return spectrum.normalised(*limits)
