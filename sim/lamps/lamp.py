"""What every lamp has: a body of which a part glows, a spectrum, and an output."""

from abc import abstractmethod
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from pydantic import model_validator

from sim.geometry.mesh import FloatArray, Mesh
from sim.lamps.distribution import Distribution
from sim.lamps.emission import SpectrumRef
from sim.lamps.output import Output
from sim.lamps.upkeep import Age, WarmUp
from sim.materials.law import Lambertian, LawRef
from sim.spec import Name, Spec
from sim.units import Direction, Share

BoolArray = npt.NDArray[np.bool_]

BODY = Lambertian(kind="lambertian", reflectance=0.3)
"""Default law of a lamp's body. The value is a guess: phosphor behind glass is bright, but absorbs in the UVB."""

SIDES = 192
"""Sides of the prism that stands for a round tube.

The prism's perimeter equals the circle's, so lit area and mean projected area are exact. What is left is its
outline, which differs from the circle's by -0.009 % to +0.004 % with the direction it is seen from. That is under half
the standard error of a meter at the default count of photons; with 64 sides, -0.08 % to +0.04 %, it is five of them,
and no interval holds the truth. Three times the sides cost 1 to 6 % of the time of a run.
"""


@dataclass(frozen=True)
class LampShape:
    """A lamp as triangles.

    Attributes
    ----------
    body : Mesh
        All triangles of the lamp, fronts outward; a panel is one rectangle.
    emits : (m,) bool
        Which triangles emit from their fronts, with one exitance for all: by Lambert's law unless `directions` says
        otherwise.
    start, end : (3,) float [m]
        Ends of its axis.
    centre : (3,) float [m]
        Where distances of readings start from.
    facing : (3,) float
        Unit direction along which they are measured, and into which attached reflectors open.
    radius : float [m]
        Farthest reach of the body from its axis.
    open_body : bool
        True for a panel or a bare aperture, which encloses nothing.
    directions : Distribution, optional
        Where the light of every emitting point goes; nothing of it behind their fronts.
    axes : (3, 3) float, optional
        Unit vectors towards its azimuths 0 and 90 degrees, and along its polar axis.
    """

    body: Mesh
    emits: BoolArray
    start: FloatArray
    end: FloatArray
    centre: FloatArray
    facing: FloatArray
    radius: float
    open_body: bool = False
    directions: Distribution | None = None
    axes: FloatArray | None = None

    @property
    def lit_area(self) -> float:
        """Area of the triangles that emit [m2]."""
        return float(self.body.areas[self.emits].sum())


class LampBase(Spec):
    """Keys that all lamps share.

    ==========  ==================================================================  =======================
    key         meaning                                                             unit, default
    ==========  ==================================================================  =======================
    name        how results call it                                                 text
    spectrum    name of a packaged spectrum, or an emission (see Emission)          name or table
    output      how strong it is at full level (see Output)                         table
    level       dimming: what is left of the output                                 share, 100 %
    maintained  ageing: what is left of the stated output                           share, 100 %
    age         ageing by a table of hours, instead of `maintained` (see Age)       table, none
    warm_up     time since it was switched on, by a table (see WarmUp)              table, none
    facing      where its readings are taken and attached reflectors open           direction, [0, 0, -1]
    body        law of its surface, for light of others that falls on it            law, lambertian 0.3
    ==========  ==================================================================  =======================

    The default law of the body is a guess. `level`, `maintained` or `age`, and `warm_up` all multiply the output, and
    results tell them. `output`, readings included, is that of a warm lamp at full level, new unless `age` says
    otherwise. Lit surfaces glow evenly by the cosine law; real tubes differ from that
    by a few per cent and are darker towards their ends.
    """

    name: Name
    spectrum: SpectrumRef
    output: Output
    body: LawRef = BODY
    level: Share = 1.0
    maintained: Share = 1.0
    age: Age | None = None
    warm_up: WarmUp | None = None
    facing: Direction = (0.0, 0.0, -1.0)

    @model_validator(mode="after")
    def _possible(self) -> "LampBase":
        self._check_shape()
        for reference in self.output.references():
            if reference.distance <= self.reach:
                raise ValueError(
                    f"output: the reading at {reference.distance * 100:g} cm lies within the lamp, which reaches "
                    f"{self.reach * 100:g} cm from its centre; distances count from there"
                )
        if self.age is not None and "maintained" in self.model_fields_set:
            raise ValueError("'maintained' and 'age' say the same thing twice; leave one of them out")
        return self

    @property
    def doubt(self) -> str | None:
        """What is odd about it, though it can be traced; None where nothing is."""
        return None

    @property
    def strength(self) -> float:
        """What is left of the stated output: dimming, ageing and warm-up together."""
        aged = self.maintained if self.age is None else self.age.factor
        return self.level * aged * (1.0 if self.warm_up is None else self.warm_up.factor)

    @property
    def strength_notes(self) -> tuple[str, ...]:
        """What a reader of results must know of ageing and warm-up."""
        notes = []
        fades = "how fast a lamp fades differs from lamp to lamp"
        if self.age is not None:
            since = "new" if self.age.stated_at == 0.0 else f"after {self.age.stated_at:g} h"
            notes.append(
                f"at {self.age.hours:g} h it is taken to give {100.0 * self.age.factor:.3g} % of its output "
                f"{since}, by the scene's own table; {fades}"
            )
        elif self.maintained != 1.0:
            notes.append(
                f"ageing leaves {100.0 * self.maintained:.3g} % of its stated output, as the scene says; {fades}"
            )
        if self.warm_up is not None:
            notes.append(
                f"{self.warm_up.minutes:g} min after switching on it is taken to give "
                f"{100.0 * self.warm_up.factor:.3g} % of its output when warm, by the scene's own table"
            )
        if self.level != 1.0:
            notes.append(f"it is dimmed to {100.0 * self.level:.3g} %")
        return tuple(notes)

    @abstractmethod
    def _check_shape(self) -> None:
        """Raise ValueError where the shape cannot be built."""

    @property
    @abstractmethod
    def reach(self) -> float:
        """Distance from the centre to the body's end along its facing [m]."""

    @abstractmethod
    def shape(self) -> LampShape:
        """Return the lamp as triangles."""

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader of results must know about its kind."""
        return ()


def across(direction: FloatArray, axis: FloatArray) -> FloatArray | None:
    """Return the unit part of a direction perpendicular to a unit axis, or None where it is within 1 deg of it."""
    part = direction - (direction @ axis) * axis
    length = float(np.linalg.norm(part))
    return None if length < np.sin(np.radians(1.0)) else part / length


def frame_about(axis: FloatArray) -> FloatArray:
    """Return a right-handed frame about a unit axis: square to it as near +x as can be, the next, and it, (3, 3).

    Where the axis runs along x, the first is as near +y as can be.
    """
    x = across(np.array([1.0, 0.0, 0.0]), axis)
    if x is None:
        x = across(np.array([0.0, 1.0, 0.0]), axis)
    assert x is not None, "x and y cannot both lie along one axis"
    return np.stack([x, np.cross(axis, x), axis])
