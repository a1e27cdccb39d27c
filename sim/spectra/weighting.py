"""Weightings: how much a wavelength counts for an effect.

A new weighting is one edit: a table is one file in sim/data/weightings, a formula is one row in `_FORMULAS`.
"""

import tomllib
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from sim.spectra.action_spectra import actinic, erythema
from sim.spectra.arrays import FloatArray, WavelengthFunction, read_only

_UV_TOP_NM = 400.0
TABLE_FOLDER = Path(__file__).parents[1] / "data" / "weightings"


@dataclass(frozen=True)
class Weighting:
    """A function of wavelength that a spectrum is multiplied with and integrated.

    Parameters
    ----------
    name : str
        How it is asked for.
    title : str
        What a reader sees; it names the edges.
    unit : str
        Unit of `scale` times the weighted irradiance [W/m2]; empty for a pure number.
    scale : float
        Factor from the weighted integral to the number that is shown.
    function : callable, (n,) float [nm] -> (n,) float, >= 0
        Weights between `low_nm` and `high_nm`.
    breakpoints_nm : tuple of float, ascending [nm]
        Where the function steps or bends, its ends included.
    low_nm, high_nm : float [nm]
        It is zero below and above.
    source : str
        Standard or paper.
    """

    name: str
    title: str
    unit: str
    scale: float
    function: WavelengthFunction
    breakpoints_nm: tuple[float, ...]
    low_nm: float
    high_nm: float
    source: str

    def __call__(self, wavelength_nm: npt.ArrayLike) -> FloatArray:
        """Return the weights at given wavelengths, zero outside the range.

        Parameters
        ----------
        wavelength_nm : (n,) array_like of float [nm]

        Returns
        -------
        (n,) float, >= 0
        """
        wavelength = np.asarray(wavelength_nm, dtype=np.float64)
        inside = (wavelength >= self.low_nm) & (wavelength <= self.high_nm)
        return np.where(inside, self.function(np.clip(wavelength, self.low_nm, self.high_nm)), 0.0)


def _inside_band(high_nm: float, wavelength_nm: FloatArray) -> FloatArray:
    # A line on the edge of two bands is in the upper one only; nothing lies above the top of the UV.
    return np.where((wavelength_nm < high_nm) | (high_nm == _UV_TOP_NM), 1.0, 0.0)


def _band(name: str, title: str, low_nm: float, high_nm: float, source: str) -> Weighting:
    """Return the unit weighting of a band."""
    function = partial(_inside_band, high_nm)
    return Weighting(name, title, "W/m2", 1.0, function, (low_nm, high_nm), low_nm, high_nm, source)


_ERYTHEMA_SOURCE = "CIE S 007/E:1998 = ISO/CIE 17166:2019 (constant 140)"
_ERYTHEMA_BREAKS = (250.0, 298.0, 328.0, 400.0)
_ACTINIC_BREAKS = (250.0, 270.0, 300.0, 400.0)
_UVI_SOURCE = (
    "WHO, WMO, UNEP, ICNIRP: Global Solar UV Index, a practical guide, WHO/SDE/OEH/02.2 (2002): "
    f"40 m2/W times the erythemal irradiance; {_ERYTHEMA_SOURCE}"
)
_1987_SOURCE = (
    "McKinlay & Diffey, CIE Research Note 6 (1987) 17-22: constant 139, steps by -3.4 % at 328 nm; "
    "for comparison with older work only"
)
_ACTINIC_SOURCE = (
    "ICNIRP, Health Phys. 87 (2004) 171-186, eq. 2a-2c: a fit to the table that the limits are set on "
    "(IEC 62471:2006), 11 % low at 295-297 nm and 25 % high at 315-320 nm"
)
_CIE_BANDS = "UV bands of the CIE and ISO (UVB 280-315 nm, UVA 315-400 nm)"
_TRADE_BAND = "Common practice in the lamp trade, as in 21 CFR 1040.20: UVB ends at 320 nm"
_BELOW_298 = "The part below the end of the erythema plateau (CIE S 007/E:1998), nearly absent from sunlight"

_FORMULAS = (
    Weighting(
        "uvi",
        "UV index",
        unit="",
        scale=40,
        function=erythema,
        breakpoints_nm=_ERYTHEMA_BREAKS,
        low_nm=250,
        high_nm=400,
        source=_UVI_SOURCE,
    ),
    Weighting(
        "erythema",
        "Erythemal irradiance, 250-400 nm",
        unit="W/m2",
        scale=1,
        function=erythema,
        breakpoints_nm=_ERYTHEMA_BREAKS,
        low_nm=250,
        high_nm=400,
        source=_ERYTHEMA_SOURCE,
    ),
    Weighting(
        "erythema-1987",
        "Erythemal irradiance, 250-400 nm, superseded form of 1987",
        unit="W/m2",
        scale=1,
        function=partial(erythema, constant_nm=139),
        breakpoints_nm=_ERYTHEMA_BREAKS,
        low_nm=250,
        high_nm=400,
        source=_1987_SOURCE,
    ),
    Weighting(
        "actinic",
        "Actinic hazard, published fit, 250-400 nm",
        unit="W/m2",
        scale=1,
        function=actinic,
        breakpoints_nm=_ACTINIC_BREAKS,
        low_nm=250,
        high_nm=400,
        source=_ACTINIC_SOURCE,
    ),
    _band("uvb-315", "UVB, 280-315 nm", 280.0, 315.0, _CIE_BANDS),
    _band("uvb-320", "UVB, 280-320 nm", 280.0, 320.0, _TRADE_BAND),
    _band("uva", "UVA, 315-400 nm", 315.0, 400.0, _CIE_BANDS),
    _band("total", "Unweighted, 250-400 nm", 250.0, 400.0, "The range of the UV index"),
    _band("below-298", "Below 298 nm, 250-298 nm", 250.0, 298.0, _BELOW_298),
)


def _interpolated(table_nm: FloatArray, weights: FloatArray, wavelength_nm: FloatArray) -> FloatArray:
    return np.asarray(np.interp(wavelength_nm, table_nm, weights), dtype=np.float64)


def read_weighting(path: Path) -> Weighting:
    """Return the weighting tabulated in a TOML file, linear between its rows; its name is the file's.

    Parameters
    ----------
    path : Path
        With the keys title, unit, scale, source, licence and table = [[wavelength in nm, weight], ...].

    Raises
    ------
    ValueError
        If a key is missing, wavelengths do not increase, or a weight is negative or not finite.
    """
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    missing = {"title", "unit", "scale", "source", "licence", "table"} - data.keys()
    if missing:
        raise ValueError(f"{path}: missing key {', '.join(sorted(missing))}")
    table = read_only(data["table"])
    if table.ndim != 2 or table.shape[0] < 2 or table.shape[1] != 2:
        raise ValueError(f"{path}: table: needs at least two rows of [wavelength in nm, weight]")
    wavelength, weight = table.T
    if not (np.all(np.isfinite(table)) and np.all(np.diff(wavelength) > 0) and np.all(weight >= 0)):
        raise ValueError(f"{path}: table: wavelengths must increase and weights be finite and not negative")
    return Weighting(
        name=path.stem,
        title=data["title"],
        unit=data["unit"],
        scale=float(data["scale"]),
        function=partial(_interpolated, wavelength, weight),
        breakpoints_nm=tuple(wavelength.tolist()),
        low_nm=float(wavelength[0]),
        high_nm=float(wavelength[-1]),
        source=data["source"],
    )


WEIGHTINGS: dict[str, Weighting] = {
    weighting.name: weighting
    for weighting in (*_FORMULAS, *(read_weighting(path) for path in sorted(TABLE_FOLDER.glob("*.toml"))))
}
"""Every weighting by its name."""
