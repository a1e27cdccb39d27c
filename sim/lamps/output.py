"""How strong a lamp is, said the way people know it."""

from collections.abc import Sequence
from typing import Literal

from pydantic import Field, model_validator

from sim.lamps.reading import Reading, Reference, Setting
from sim.spec import Spec
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS
from sim.units import Irradiance, Length, Power, Share, ShareRange, Wavelength

Way = Literal["radiant", "uvi", "uvb", "readings", "electrical"]

CONVERSION_RANGE = (0.15, 0.35)
UVB_EDGES_NM = (315.0, 320.0)
CEILING = 0.22
CEILING_NM = (280.0, 380.0)
"""Most of the wall power that a fluorescent tube was seen to give between these wavelengths: 7.5 to 8.7 W of 40 W,
by a full UVB tube of calcium zinc phosphate with thallium in UV glass (abstract of a paper of the 1950s on that
phosphor)."""

_KEYS: dict[Way, tuple[str, ...]] = {
    "radiant": ("band",),
    "uvi": ("at", "setting"),
    "uvb": ("at", "setting", "edge"),
    "readings": ("setting", "edge"),
    "electrical": ("uvb_share", "conversion", "edge"),
}
_REQUIRED: dict[Way, tuple[str, ...]] = {
    "radiant": (),
    "uvi": ("at", "setting"),
    "uvb": ("at", "setting"),
    "readings": ("setting",),
    "electrical": ("uvb_share",),
}
_HINTS = {
    "at": "at = '30 cm', the distance of that reading from the lamp's axis",
    "setting": "setting = 'bare' (the lamp alone) or 'fixture' (with the reflectors attached to it)",
    "uvb_share": "uvb_share = '5 %', the share of UVB that the box states",
}


class Output(Spec):
    """The strength of a lamp at full level, in exactly one of five ways.

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
    readings     readings at several distances: one power is fitted to all            list of tables
    edge         where UVB ends: 315 nm (CIE) or 320 nm (usual among lamp makers)     wavelength, 320 nm
    electrical   electrical power of the lamp                                         power
    uvb_share    share of UVB in what it radiates, as the box states it               share
    conversion   share of the electrical power that leaves as radiation, or the       share, or two
                 two between which it lies; a guess of 15 to 35 % if left out
    ===========  ===================================================================  ===================

    Example::

        output = { uvi = 3.1, at = "30 cm", setting = "fixture" }

    The other ways::

        output = { radiant = "1.5 W", band = ["280 nm", "320 nm"] }

        output = { uvb = "150 uW/cm2", at = "30 cm", edge = "320 nm", setting = "bare" }

        output = { readings = [{ at = "20 cm", uvi = 5.2 }, { at = "30 cm", uvi = 3.1 }], setting = "fixture" }

        output = { electrical = "24 W", uvb_share = "5 %", conversion = ["20 %", "30 %"], edge = "320 nm" }

    Notes
    -----
    The way by electrical power is the weakest: UVB watts are electrical power times conversion times share. The
    default conversion of 25 % is a guess from general knowledge of fluorescent lamps, not from a source; 15 % to
    35 % is as likely, and the share on a box says neither edge nor age. Where a reading exists, give the reading.

    A table of readings is fitted by least squares, each row weighted by its error; results show every row beside what
    the model gives there, and warn where they disagree by more than the errors admit. Results are told for the fitted
    power, or the middle of the conversions, and beside it what they would be at the ends of the range.
    """

    radiant: Power | None = None
    band: tuple[Wavelength, Wavelength] | None = None
    uvi: float | None = Field(default=None, gt=0.0)
    uvb: Irradiance | None = None
    at: Length | None = None
    setting: Setting | None = None
    readings: tuple[Reading, ...] | None = None
    edge: Wavelength | None = None
    electrical: Power | None = None
    uvb_share: Share | None = None
    conversion: ShareRange | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "Output":
        given = [way for way in _KEYS if getattr(self, way) is not None]
        if len(given) != 1:
            found = f"found {' and '.join(given)}" if given else "found none"
            raise ValueError(
                f"exactly one of radiant, uvi, uvb, readings, electrical says how strong a lamp is; {found}"
            )
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
        if self.readings == ():
            raise ValueError("'readings' is empty; write rows such as { at = '30 cm', uvi = 3.1 }")
        for key, share in (("uvb_share", self.uvb_share), ("conversion", self.conversion and self.conversion[0])):
            if share == 0.0:
                raise ValueError(f"'{key}' must be above 0; a lamp without output is left out, or has level 0")
        return self

    @property
    def way(self) -> Way:
        """Which of the five ways is used."""
        return next(way for way in _KEYS if getattr(self, way) is not None)

    @property
    def uvb_weighting(self) -> str:
        """Name of the weighting that is one over UVB as this output means it."""
        edge_nm = UVB_EDGES_NM[1] if self.edge is None else self.edge
        return f"uvb-{edge_nm:.0f}"

    @property
    def conversions(self) -> tuple[float, float, float]:
        """Lowest, taken and highest share of the electrical power that leaves as radiation."""
        low, high = CONVERSION_RANGE if self.conversion is None else self.conversion
        return low, 0.5 * (low + high), high

    @property
    def range_of_power(self) -> tuple[float, float]:
        """Factors on the power at both ends of what the scene says about it, readings aside; ones where it is sure."""
        if self.way != "electrical":
            return 1.0, 1.0
        low, taken, high = self.conversions
        return low / taken, high / taken

    @property
    def note(self) -> str | None:
        """What a reader of results must know about how the power was found; None where it was stated or read."""
        if self.electrical is None or self.uvb_share is None:
            return None
        low, taken, high = self.conversions
        watts = self.electrical * taken * self.uvb_share
        said = (
            f"UVB is {self.electrical:g} W of electrical power x {taken:.3g} (conversion) x "
            f"{self.uvb_share:.3g} (share) = {watts:.3g} W from 280 to {self.uvb_weighting.removeprefix('uvb-')} nm"
        )
        if low == high:
            return f"{said}; the conversion is the scene's, without a range"
        whose = "a guess of the program" if self.conversion is None else "given by the scene"
        weak, strong = self.range_of_power
        return (
            f"{said}; the conversion is {whose}, between {low:.3g} and {high:.3g}, so every irradiance may be "
            f"{weak:.2f} to {strong:.2f} times that shown"
        )

    def over_the_ceiling(self, spectrum: Spectrum, low_nm: float, high_nm: float) -> str | None:
        """Return a warning where more of the electrical power would become UV than tubes were seen to give.

        Parameters
        ----------
        spectrum : Spectrum
            What the lamp emits, in any scale.
        low_nm, high_nm : float [nm]
            The wavelengths of the run.

        Raises
        ------
        ValueError
            If the spectrum has no UVB.
        """
        if self.electrical is None:
            return None
        power = self.radiant_power(spectrum, low_nm, high_nm)
        ultraviolet = power * spectrum.power(*CEILING_NM) / spectrum.power(low_nm, high_nm)
        share = ultraviolet / self.electrical
        if share <= CEILING:
            return None
        return (
            f"{share:.0%} of its electrical power would leave between {CEILING_NM[0]:g} and {CEILING_NM[1]:g} nm, and "
            f"a full UVB tube gives {CEILING:.0%} at most; lower conversion or uvb_share, or give a reading"
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
        conversion = self.conversions[1]
        uvb = WEIGHTINGS[self.uvb_weighting]
        in_band = spectrum.weighted(uvb, uvb.low_nm, uvb.high_nm)
        return self.electrical * conversion * self.uvb_share * total / _some(in_band, uvb.low_nm, uvb.high_nm)

    def references(self) -> tuple[Reference, ...]:
        """Return the readings that fix the power; none where it follows without one."""
        if self.setting is None:
            return ()
        if self.readings is not None:
            return tuple(reading.reference(self.uvb_weighting, self.setting) for reading in self.readings)
        if self.at is None:
            return ()
        if self.uvi is not None:
            return (Reference("uvi", self.uvi, self.at, self.setting),)
        return () if self.uvb is None else (Reference(self.uvb_weighting, self.uvb, self.at, self.setting),)


def _quoted(keys: Sequence[str]) -> str:
    return " and ".join(f"'{key}'" for key in keys)


def _some(power: float, low_nm: float, high_nm: float) -> float:
    if not power > 0.0:
        raise ValueError(
            f"the lamp's spectrum has no power between {low_nm:g} and {high_nm:g} nm, where its output is stated"
        )
    return power
