"""A property by wavelength: one number, or a table that is interpolated."""

from typing import Annotated

import numpy as np
from pydantic import AfterValidator, Field, model_validator

from sim.geometry.mesh import FloatArray
from sim.spec import Spec
from sim.units import Wavelength


class Table(Spec):
    """Values at wavelengths; linear between them, constant beyond the ends.

    ``low`` and ``high`` give the range that real samples show; they are reported, not traced.
    """

    wavelength: tuple[Wavelength, ...]
    value: tuple[float, ...]
    low: tuple[float, ...] | None = None
    high: tuple[float, ...] | None = None

    @model_validator(mode="after")
    def _rows_match(self) -> "Table":
        if len(self.wavelength) < 2:
            raise ValueError("a table needs at least two wavelengths")
        for key in ("value", "low", "high"):
            column = getattr(self, key)
            if column is not None and len(column) != len(self.wavelength):
                raise ValueError(f"{len(self.wavelength)} wavelengths but {len(column)} entries in '{key}'")
        if any(b <= a for a, b in zip(self.wavelength, self.wavelength[1:], strict=False)):
            raise ValueError("wavelengths of a table must increase")
        for name, lower, upper in (("low", self.low, self.value), ("high", self.value, self.high)):
            self._check_order(name, lower, upper)
        return self

    def _check_order(self, name: str, lower: tuple[float, ...] | None, upper: tuple[float, ...] | None) -> None:
        for wavelength, a, b in zip(self.wavelength, lower or (), upper or (), strict=False):
            if a > b:
                found, side = (a, "above") if name == "low" else (b, "below")
                value = b if name == "low" else a
                raise ValueError(f"'{name}' is {found:g} at {wavelength:g} nm, {side} 'value', {value:g}")


Curve = float | Table


def _within_one(curve: Curve) -> Curve:
    values = curve.value if isinstance(curve, Table) else (curve,)
    for value in values:
        if not 0.0 <= value <= 1.0:
            raise ValueError(f"{value:g} is outside 0 to 1; no surface returns or passes more light than it gets")
    return curve


def _not_negative(curve: Curve) -> Curve:
    values = curve.value if isinstance(curve, Table) else (curve,)
    if min(values) < 0.0:
        raise ValueError(f"{min(values):g} is below zero")
    return curve


def _index_of_clear_matter(curve: Curve) -> Curve:
    values = curve.value if isinstance(curve, Table) else (curve,)
    if min(values) < 1.0:
        raise ValueError(f"{min(values):g} is below 1; the refractive index of glass and clear plastics is about 1.5")
    return curve


def _above_zero(curve: Curve) -> Curve:
    values = curve.value if isinstance(curve, Table) else (curve,)
    if min(values) <= 0.0:
        raise ValueError(f"{min(values):g} is not above zero")
    return curve


Reflectance = Annotated[Curve, AfterValidator(_within_one)]
Constant = Annotated[Curve, AfterValidator(_not_negative)]
ClearIndex = Annotated[Curve, AfterValidator(_index_of_clear_matter)]
MetalIndex = Annotated[Curve, AfterValidator(_above_zero)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]


def curve_at(curve: Curve, wavelength_nm: FloatArray) -> FloatArray:
    """Return a curve's values at wavelengths [nm], same shape."""
    if isinstance(curve, Table):
        return np.interp(wavelength_nm, curve.wavelength, curve.value)
    return np.full(np.shape(wavelength_nm), float(curve))


def curve_breaks(curve: Curve) -> tuple[float, ...]:
    """Return the wavelengths [nm] at which a curve's slope may jump."""
    return curve.wavelength if isinstance(curve, Table) else ()
