"""The glass around a lamp: what it passes, wavelength by wavelength."""

import math

import numpy as np
from pydantic import model_validator

from sim.geometry.mesh import FloatArray
from sim.materials.curve import curve_at
from sim.materials.fresnel import sheet_reflectance_transmittance
from sim.materials.law import Law, LawRef, Sheet
from sim.spec import Spec
from sim.units import Length, Wavelength

_RISE = math.log(math.log(10.0) / math.log(2.0)) - math.log(math.log(1.0 / 0.9) / math.log(2.0))
"""From 10 % to 90 % transmittance, over the wavelength in which the absorption falls by e."""


class Envelope(Spec):
    """A lamp's glass wall, which ends a spectrum smoothly where a cut would end it at a stroke.

    ===========  =================================================================  =================
    key          meaning                                                            unit, default
    ===========  =================================================================  =================
    glass        a law of kind sheet, or its name, whose glass the wall is of       law
    thickness    of the wall, instead of the sheet's own                            length
    half         wavelength at which an edge passes half of the light               wavelength
    width        from where it passes a tenth to where it passes nine tenths        wavelength
    ===========  =================================================================  =================

    Example::

        envelope = { half = "295 nm", width = "24 nm" }

    By optical constants::

        envelope = { glass = "glass-iron-703ppm-4mm", thickness = "0.7 mm" }

    Notes
    -----
    Of an edge the absorption falls exponentially with wavelength, as that of glasses does (F. Urbach, Phys. Rev. 92
    (1953) 1324, from memory): ``T = 0.5 ** exp((half - wavelength) / s)`` with ``s = width / 3.08``. Clear soda-lime
    glass (M. Rubin, Sol. Energy Mater. 12 (1985) 275) has a width of 24 nm. A glass passes what a plane sheet passes at
    right angles, reflections at both faces included. Given both, the two are multiplied.
    """

    glass: LawRef | None = None
    thickness: Length | None = None
    half: Wavelength | None = None
    width: Wavelength | None = None

    @model_validator(mode="after")
    def _says_something(self) -> "Envelope":
        if self.glass is None and self.half is None:
            raise ValueError("an envelope needs 'glass', the law of a pane, or 'half' and 'width' of an edge")
        if (self.half is None) != (self.width is None):
            raise ValueError("'half' and 'width' of an edge go together, such as half = '295 nm', width = '24 nm'")
        if self.thickness is not None and self.glass is None:
            raise ValueError("'thickness' needs 'glass', which it is the thickness of")
        return self

    def transmittance(self, wavelength_nm: FloatArray, glass: Law | None) -> FloatArray:
        """Return the share of light that it passes at given wavelengths.

        Parameters
        ----------
        wavelength_nm : (n,) float [nm]
        glass : Law or None
            What `glass` means.

        Raises
        ------
        ValueError
            If the glass is no sheet.
        """
        passed: FloatArray = np.ones(np.shape(wavelength_nm))
        if self.half is not None and self.width is not None:
            steps = np.minimum((self.half - wavelength_nm) * _RISE / self.width, 700.0)
            passed = passed * 0.5 ** np.exp(steps)
        if glass is not None:
            passed = passed * self._through(glass, wavelength_nm)
        return passed

    def _through(self, glass: Law, wavelength_nm: FloatArray) -> FloatArray:
        if not isinstance(glass, Sheet):
            raise ValueError(f"envelope: a wall is of glass, a law of kind sheet, not of kind {glass.kind}")
        n, k = curve_at(glass.n, wavelength_nm), curve_at(glass.k, wavelength_nm)
        thickness = glass.thickness if self.thickness is None else self.thickness
        return sheet_reflectance_transmittance(n, k, thickness, wavelength_nm, np.ones_like(n))[1]
