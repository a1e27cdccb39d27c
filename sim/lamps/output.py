"""How strong a lamp is, said the way people know it."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from pydantic import Field, model_validator

from sim.spec import Spec
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS
from sim.units import Irradiance, Length, Power, Share, Wavelength

Way = Literal["radiant", "uvi", "uvb", "electrical"]
Setting = Literal["bare", "fixture"]

CONVERSION = 0.25
CONVERSION_RANGE = (0.15, 0.35)
UVB_EDGES_NM = (315.0, 320.0)

_KEYS: dict[Way, tuple[str, ...]] = {
    "radiant": ("band",),
    "uvi": ("at", "setting"),
    "uvb": ("at", "setting", "edge"),
    "electrical": ("uvb_share", "conversion", "edge"),
}
_REQUIRED: dict[Way, tuple[str, ...]] = {
    "radiant": (),
    "uvi": ("at", "setting"),
    "uvb": ("at", "setting"),
    "electrical": ("uvb_share",),
}
_HINTS = {
    "at": "at = '30 cm', the distance of that reading from the lamp's axis",
    "setting": "setting = 'bare' (the lamp alone) or 'fixture' (with the reflectors attached to it)",
    "uvb_share": "uvb_share = '5 %', the share of UVB that the box states",
}


class Reference(NamedTuple):
    """A reading that fixes a lamp's power once its set-up has been simulated.

    Attributes
    ----------
    weighting : str
        Name of the weighting: ``uvi``, ``uvb-315`` or ``uvb-320``.
    value : float [UV index, or W/m2]
    distance : float [m]
        From the lamp's axis (or centre), along its facing.
    setting : {"bare", "fixture"}
        The lamp alone in free space, or with the reflectors attached to it.
    """

    weighting: str
    value: float
    distance: float
    setting: Setting


class Output(Spec):
    """The strength of a lamp at full level, in exactly one of four ways.

    ===========  ===================================================================  ===================
    key          meaning                                                              unit, default
    ===========  ===================================================================  ===================
    radiant      radiant power, over the wavelengths of the run or in `band`          power
    band         the two wavelengths between which `radiant` is meant                 two wavelengths
    uvi          UV index read at a distance                                          above 0
    uvb          UVB irradiance read at a distance                                    irradiance
    at           distance of that reading from the lamp's axis, along its facing      length
    setting      what was read: the lamp alone ("bare") or with the reflectors        bare, fixture
                 attached to it ("fixture")
    edge         where UVB ends: 315 nm (CIE) or 320 nm (usual among lamp makers)     wavelength, 320 nm
    electrical   electrical power of the lamp                                         power
    uvb_share    share of UVB in what it radiates, as the box states it               share
    conversion   share of the electrical power that leaves as radiation               share, 25 %
    ===========  ===================================================================  ===================

    Example::

        output = { uvi = 3.1, at = "30 cm", setting = "fixture" }

    The other ways::

        output = { radiant = "1.5 W", band = ["280 nm", "320 nm"] }

        output = { uvb = "150 uW/cm2", at = "30 cm", edge = "320 nm", setting = "bare" }

        output = { electrical = "24 W", uvb_share = "5 %", conversion = "25 %", edge = "320 nm" }

    Notes
    -----
    The way by electrical power is the weakest: UVB watts are electrical power times conversion times share. The
    default conversion of 25 % is a guess from general knowledge of fluorescent lamps, not from a source; 15 % to
    35 % is as likely, and the share on a box says neither edge nor age. Where a reading exists, give the reading.
    """

    radiant: Power | None = None
    band: tuple[Wavelength, Wavelength] | None = None
    uvi: float | None = Field(default=None, gt=0.0)
    uvb: Irradiance | None = None
    at: Length | None = None
    setting: Setting | None = None
    edge: Wavelength | None = None
    electrical: Power | None = None
    uvb_share: Share | None = None
    conversion: Share | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "Output":
        given = [way for way in _KEYS if getattr(self, way) is not None]
        if len(given) != 1:
            found = f"found {' and '.join(given)}" if given else "found none"
            raise ValueError(f"exactly one of radiant, uvi, uvb, electrical says how strong a lamp is; {found}")
        way = given[0]
        strays = [key for key in type(self).model_fields if key not in _KEYS and self._stray(key, way)]
        if strays:
            raise ValueError(f"'{way}' goes with {_quoted(_KEYS[way])}, not with {_quoted(strays)}")
        for key in _REQUIRED[way]:
            if getattr(self, key) is None:
                raise ValueError(f"'{way}' needs {_HINTS[key]}")
        return self

    def _stray(self, key: str, way: Way) -> bool:
        return getattr(self, key) is not None and key not in _KEYS[way]

    @model_validator(mode="after")
    def _numbers_make_sense(self) -> "Output":
        if self.edge is not None and not any(abs(self.edge - edge) < 1e-6 for edge in UVB_EDGES_NM):
            raise ValueError(f"edge is '315 nm' (CIE) or '320 nm' (usual among lamp makers), not {self.edge:g} nm")
        if self.band is not None and self.band[0] >= self.band[1]:
            raise ValueError(f"the wavelengths of 'band' must increase, not {self.band[0]:g} to {self.band[1]:g} nm")
        for key in ("uvb_share", "conversion"):
            if getattr(self, key) == 0.0:
                raise ValueError(f"'{key}' must be above 0; a lamp without output is left out, or has level 0")
        return self

    @property
    def way(self) -> Way:
        """Which of the four ways is used."""
        return next(way for way in _KEYS if getattr(self, way) is not None)

    @property
    def uvb_weighting(self) -> str:
        """Name of the weighting that is one over UVB as this output means it."""
        edge_nm = UVB_EDGES_NM[1] if self.edge is None else self.edge
        return f"uvb-{edge_nm:.0f}"

    @property
    def note(self) -> str | None:
        """What a reader of results must know about how the power was found; None where it was stated."""
        if self.way != "electrical" or self.conversion is not None:
            return None
        low, high = CONVERSION_RANGE
        return (
            f"the share of electrical power that leaves as radiation is a guess of {CONVERSION:.0%}; at {low:.0%} to "
            f"{high:.0%} every irradiance would be {low / CONVERSION:.2f} to {high / CONVERSION:.2f} times that shown"
        )

    def radiant_power(self, spectrum: Spectrum, low_nm: float, high_nm: float) -> float:
        """Return the radiant power between two wavelengths, for the ways that need no simulation [W].

        Parameters
        ----------
        spectrum : Spectrum
            What the lamp emits, in any scale.
        low_nm, high_nm : float [nm]
            The wavelengths of the run.

        Raises
        ------
        ValueError
            If the spectrum has no power where the output is stated, or the way is by a reading at a distance.
        """
        total = spectrum.power(low_nm, high_nm)
        if self.radiant is not None:
            low, high = self.band or (low_nm, high_nm)
            return self.radiant * total / _some(spectrum.power(low, high), low, high)
        if self.electrical is None or self.uvb_share is None:
            raise ValueError(f"'{self.way}' at a distance gives no power by itself; its set-up must be simulated")
        conversion = CONVERSION if self.conversion is None else self.conversion
        uvb = WEIGHTINGS[self.uvb_weighting]
        in_band = spectrum.weighted(uvb, uvb.low_nm, uvb.high_nm)
        return self.electrical * conversion * self.uvb_share * total / _some(in_band, uvb.low_nm, uvb.high_nm)

    def reference(self) -> Reference | None:
        """Return the reading that fixes the power, or None where the power follows without one."""
        if self.at is None or self.setting is None:
            return None
        if self.uvi is not None:
            return Reference("uvi", self.uvi, self.at, self.setting)
        return None if self.uvb is None else Reference(self.uvb_weighting, self.uvb, self.at, self.setting)


def _quoted(keys: Sequence[str]) -> str:
    return " and ".join(f"'{key}'" for key in keys)


def _some(power: float, low_nm: float, high_nm: float) -> float:
    if not power > 0.0:
        raise ValueError(
            f"the lamp's spectrum has no power between {low_nm:g} and {high_nm:g} nm, where its output is stated"
        )
    return power
