"""How finely and how long a scene is traced."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, ValidationInfo, field_validator

from sim.spec import Spec
from sim.units import Length, Share, Wavelength

MOST_BANDS = 1500
"""Of a tenth of a nanometre over the default range: finer ones take memory and tell nothing more."""


def _rising(span: tuple[float, float]) -> tuple[float, float]:
    if span[0] >= span[1]:
        raise ValueError(f"the range must rise, but {span[0]:g} nm is not below {span[1]:g} nm; exchange the two")
    return span


def _worth_asking(error: float) -> float:
    if error == 0.0:
        raise ValueError("no run ends with an error of zero; ask for one such as '1 %'")
    if error == 1.0:
        raise ValueError("1 is 100 %, an error that tells nothing; ask for one such as '1 %'")
    return error


WavelengthRange = Annotated[tuple[Wavelength, Wavelength], AfterValidator(_rising)]


class Run(Spec):
    """How a scene is traced; every key may be left out.

    =============  ===================================================================  =====================
    key            meaning                                                              default
    =============  ===================================================================  =====================
    histories      photons in all, shared out among the lamps                           2000000
    error          stop sooner, once the relative standard error is down to this        run all histories
    seed           start of the random numbers; same scene and seed, same result        1
    receiver_size  about how large the cells are that surfaces are divided into         5 cm
    wavelengths    range that lamps are traced over                                     250 nm to 400 nm
    bands          width of the wavelength bands, or "auto": narrow where it matters    "auto"
    =============  ===================================================================  =====================

    Example::

        [run]
        error = "1 %"
        receiver_size = "2 cm"

    Notes
    -----
    A smaller receiver shows finer spots and needs more histories for the same error: four times as many for half
    the size.
    """

    histories: Annotated[
        int, Field(ge=1, le=10**13, strict=True, description="photons in all, shared out among the lamps")
    ] = 2_000_000
    error: Annotated[Share, AfterValidator(_worth_asking)] | None = Field(
        default=None, description="relative standard error at which the run may stop before its last history"
    )
    seed: Annotated[int, Field(ge=0, le=2**63 - 1, strict=True, description="start of the random numbers")] = 1
    receiver_size: Length = Field(default=0.05, description="about how large the cells of surfaces are")
    wavelengths: WavelengthRange = Field(default=(250.0, 400.0), description="range that lamps are traced over")
    bands: Literal["auto"] | Wavelength = Field(
        default="auto", description="width of the wavelength bands, or auto: narrow where weightings are steep"
    )

    @field_validator("bands")
    @classmethod
    def _not_too_many(cls, bands: float | str, info: ValidationInfo) -> float | str:
        low, high = info.data.get("wavelengths", (0.0, 0.0))
        if isinstance(bands, float) and high - low > MOST_BANDS * bands:
            least = (high - low) / MOST_BANDS
            raise ValueError(
                f"{bands:g} nm parts {low:g} to {high:g} nm in more than {MOST_BANDS} bands; "
                f"write '{least:g} nm' or more"
            )
        return bands
