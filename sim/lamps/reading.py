"""Readings of a meter that fix how strong a lamp is."""

from typing import Literal, NamedTuple

from pydantic import Field, model_validator

from sim.spec import Spec
from sim.units import Irradiance, Length, Share

Setting = Literal["bare", "fixture"]

METER_ERROR = 0.05
"""Default standard error of a row of a table of readings, relative. A guess: figures on a sheet are rounded to two
digits, and at 20 cm five millimetres are 3 to 5 %."""


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
    error : float
        Relative standard error of the reading; zero for one that stands alone and is taken as it is.
    """

    weighting: str
    value: float
    distance: float
    setting: Setting
    error: float = 0.0


class Reading(Spec):
    """One row of a table of readings: what a meter says at a distance, as a UV index or as UVB irradiance.

    ===========  ===================================================================  ===================
    key          meaning                                                              unit, default
    ===========  ===================================================================  ===================
    at           distance from the lamp's axis or middle, along its facing            length
    uvi          UV index read there                                                  above 0
    uvb          UVB irradiance read there, instead of the UV index                   irradiance
    error        standard error of the reading, as a share of it                      share, 5 % (a guess)
    ===========  ===================================================================  ===================

    Example::

        output = { readings = [{ at = "20 cm", uvi = 5.2 }, { at = "30 cm", uvi = 3.1 }], setting = "bare" }

    Notes
    -----
    The error is what sets this row apart from the others: rounding, distance, noise. What all rows share, such as
    a meter that reads 10 % high throughout, no table can tell of itself.
    """

    at: Length
    uvi: float | None = Field(default=None, gt=0.0)
    uvb: Irradiance | None = None
    error: Share = METER_ERROR

    @model_validator(mode="after")
    def _one_value(self) -> "Reading":
        if (self.uvi is None) == (self.uvb is None):
            raise ValueError("a reading has either uvi = 3.1 or uvb = '150 uW/cm2'")
        if self.error == 0.0:
            raise ValueError("'error' must be above 0, or this reading would outweigh all others")
        return self

    def reference(self, uvb_weighting: str, setting: Setting) -> Reference:
        """Return what is to be simulated for it."""
        if self.uvi is not None:
            return Reference("uvi", self.uvi, self.at, setting, self.error)
        assert self.uvb is not None, "validation refuses a reading without a value"
        return Reference(uvb_weighting, self.uvb, self.at, setting, self.error)
