"""Zones: the places of an enclosure that are judged, and what is wanted there."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from sim.scene.exposure_zone import EXPOSURE_ZONES, ExposureZone
from sim.spec import Name, Spec
from sim.units import Coordinate, Gap, Position, Share

Role = Literal["basking", "refuge", "passage", "out of reach"]
Corner = tuple[Coordinate, Coordinate]
Index = Annotated[float, Field(ge=0.0)]


def _in_order(band: tuple[float, float]) -> tuple[float, float]:
    if band[0] >= band[1]:
        raise ValueError(f"the band must rise, but {band[0]:g} is not below {band[1]:g}; write [lowest, highest] mean")
    return band


def _has_area(region: tuple[Corner, Corner]) -> tuple[Corner, Corner]:
    (u0, v0), (u1, v1) = region
    if u0 == u1 or v0 == v1:
        raise ValueError("the two corners of a region must differ in both coordinates, or it has no area")
    return (min(u0, u1), min(v0, v1)), (max(u0, u1), max(v0, v1))


def _has_floor(box: tuple[Position, Position]) -> tuple[Position, Position]:
    low = tuple(map(min, *box))
    high = tuple(map(max, *box))
    if low[0] == high[0] or low[1] == high[1]:
        raise ValueError("the two corners of a box must differ in x and in y, or it has no area seen from above")
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


MeanBand = Annotated[tuple[Index, Index], AfterValidator(_in_order)]


class Target(Spec):
    """What is wanted in a zone, in units of the UV index: by exposure zone, by numbers, or a ceiling alone.

    =============  ==========================================================================  ==================
    key            meaning                                                                     default
    =============  ==========================================================================  ==================
    exposure_zone  1 to 4: takes `mean` and `max` from that exposure zone
    mean           band that the zone's mean should lie in, both ends included                 of exposure_zone
    max            no spot of the zone should be brighter                                      of exposure_zone
    share          share of the zone's area that should lie in the band `mean`                 none is asked for
    =============  ==========================================================================  ==================

    Example::

        target = { exposure_zone = 3, share = "80 %" }

    By numbers::

        target = { mean = [1.0, 2.6], max = 7.4 }

    Notes
    -----
    The bands of the exposure zones are those of `ExposureZone`. Next to an exposure zone, `max` lowers its ceiling.
    """

    exposure_zone: Literal[1, 2, 3, 4] | None = Field(
        default=None, description="exposure zone 1 to 4, which sets mean and max"
    )
    mean: MeanBand | None = Field(default=None, description="lowest and highest wanted mean UV index")
    max: Annotated[float, Field(gt=0.0)] | None = Field(
        default=None, description="UV index that no spot of the zone should exceed"
    )
    share: Share | None = Field(default=None, description="share of the zone's area that should lie in the band")

    @model_validator(mode="after")
    def _says_something(self) -> "Target":
        if self.exposure_zone is not None and self.mean is not None:
            raise ValueError("exposure_zone gives the mean already; leave out one of 'exposure_zone' and 'mean'")
        if self.band is None and self.max is None:
            raise ValueError("a target needs one of exposure_zone = 1 to 4, mean = [low, high] and max")
        if self.band is None and self.share is not None:
            raise ValueError("'share' counts the area within the band, so it needs exposure_zone or mean = [low, high]")
        return self

    @model_validator(mode="after")
    def _max_fits(self) -> "Target":
        zone = self._zone
        if zone and self.max is not None and self.max > zone.highest:
            raise ValueError(
                f"max = {self.max:g} is above {zone.highest:g}, the highest reading of exposure zone "
                f"{self.exposure_zone}; give mean = [{zone.low:g}, {zone.high:g}] instead of the zone to allow it"
            )
        if self.max is not None and self.band is not None and self.max < self.band[0]:
            raise ValueError(f"max = {self.max:g} lies below the wanted mean, {self.band[0]:g}; nothing can meet both")
        return self

    @property
    def _zone(self) -> ExposureZone | None:
        return None if self.exposure_zone is None else EXPOSURE_ZONES[self.exposure_zone]

    @property
    def band(self) -> tuple[float, float] | None:
        """Lowest and highest wanted mean UV index, both included; None where only a ceiling was given."""
        return self.mean if self._zone is None else (self._zone.low, self._zone.high)

    @property
    def highest(self) -> float | None:
        """UV index that no spot should exceed; None where nothing was said."""
        if self.max is not None or self._zone is None:
            return self.max
        return self._zone.highest


REFUGE_TARGET = Target(mean=(0.0, EXPOSURE_ZONES[1].high), max=EXPOSURE_ZONES[1].high)
"""What a refuge without a target of its own is held to: no spot in it brighter than 0.7.

That is the upper end of what the species of exposure zone 1, which live in the shade, receive on average. A refuge
must let any animal get away from the light, so the whole of it is held to that, not only its mean. Our own choice;
no source states a number for refuges.
"""


class Zone(Spec):
    """A place that is judged: a region of a surface, or a box in space.

    =========  ===================================================================  ===========================
    key        meaning                                                              default
    =========  ===================================================================  ===========================
    name       how results call it
    role       basking | refuge | passage | out of reach
    surface    the surface it lies on, such as "floor" or "ledge.top"               or `box`
    region     two corners of it in the surface's own coordinates u, v              all of the surface
    box        two corners in space, instead of a surface                           or `surface`
    height     above the surface, where light is judged                             back_height of the animal
    facing     "up", or "surface": as the surface looks                             "up"
    target     what is wanted                                                       none; for a refuge at most 0.7
    =========  ===================================================================  ===========================

    Example::

        [[zones]]
        name = "basking"
        role = "basking"
        surface = "ledge.top"
        region = [["5 cm", "5 cm"], ["25 cm", "15 cm"]]
        target = { exposure_zone = 3 }

    Notes
    -----
    A box is judged on one horizontal layer at its middle height, facing up: an animal that climbs in it turns its
    back up more often than any other way. "out of reach" says that no animal can be there: it is reported, so that
    a bright place is not overlooked, but no target is tried.
    """

    name: Name
    role: Role
    surface: str | None = Field(default=None, description="surface it lies on, such as floor or ledge.top")
    region: Annotated[tuple[Corner, Corner], AfterValidator(_has_area)] | None = Field(
        default=None, description="two corners in the surface's own coordinates; left out: all of the surface"
    )
    box: Annotated[tuple[Position, Position], AfterValidator(_has_floor)] | None = Field(
        default=None, description="two corners in space, instead of a surface"
    )
    height: Gap | None = Field(default=None, description="above the surface; left out: the animal's back height")
    facing: Literal["up", "surface"] = Field(default="up", description="up, or as the surface looks")
    target: Target | None = Field(default=None, description="what is wanted here")

    @model_validator(mode="after")
    def _one_place(self) -> "Zone":
        if (self.surface is None) == (self.box is None):
            raise ValueError("a zone needs either surface = 'floor' or box = [[x, y, z], [x, y, z]], one of the two")
        if self.box is not None:
            for key, given in (("region", self.region), ("height", self.height)):
                if given is not None:
                    raise ValueError(f"'{key}' belongs to a zone on a surface; a box says all by its corners")
            if self.facing == "surface":
                raise ValueError("facing = 'surface' needs a surface; a box is judged facing up")
        if self.role == "out of reach" and self.target is not None:
            raise ValueError("nothing is wanted out of reach; leave out 'target', or give the zone another role")
        return self

    @property
    def wanted(self) -> Target | None:
        """The target that the zone is judged by; None where it is reported only."""
        if self.target is None and self.role == "refuge":
            return REFUGE_TARGET
        return self.target
