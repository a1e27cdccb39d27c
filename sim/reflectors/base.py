"""A sheet that throws a lamp's light where it is wanted: a profile, swept along the lamp or around it."""

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, Protocol

import numpy as np
from pydantic import Field, model_validator

from sim.geometry.mesh import FloatArray, Mesh, joined
from sim.geometry.sweeps import extruded, revolved
from sim.materials.law import Black, LawRef
from sim.materials.surface import Surface
from sim.reflectors.clearance import cuts_through
from sim.reflectors.curve import TURN
from sim.reflectors.plates import end_plate
from sim.spec import Name, Spec
from sim.units import Direction, Length, Position

SIDES = 160
"""Facets around the axis of a turned reflector, which lie off its circle by 1e-4 of its width at most."""
TURN_AROUND = float(np.radians(1.0))
"""Largest turn along a facet of the profile of a turned reflector, of which there are `SIDES` times as many [rad].

With a lamp of 16 mm by 2 cm in a dish of focus 3 cm and width 12 cm, a quarter of it, or four times as many sides, give
the same UVI at 10, 30 and 60 cm to within the errors of that trial, 0.3 to 0.7 %.
"""

LEAST_GAP = 0.01
"""Of its depth, by which an edge must lie behind the front for light to be looked for there."""
FEW_CORNERS = 16
MOST_PIECES = 32


class LampBody(Protocol):
    """What a reflector must know of the lamp that it is attached to; a lamp's shape has it."""

    @property
    def body(self) -> Mesh:
        """All its triangles."""

    @property
    def start(self) -> FloatArray:
        """One end of its axis, (3,) [m]."""

    @property
    def end(self) -> FloatArray:
        """The other end, (3,) [m]."""

    @property
    def centre(self) -> FloatArray:
        """Its centre, (3,) [m]."""

    @property
    def facing(self) -> FloatArray:
        """Unit direction of its light, (3,)."""


@dataclass(frozen=True)
class _Place:
    """Where a reflector stands: its axis and the directions of its profile, unit vectors."""

    centre: FloatArray
    axis: FloatArray
    facing: FloatArray
    length: float

    @property
    def across(self) -> FloatArray:
        return np.cross(self.axis, self.facing)

    @property
    def ends(self) -> tuple[FloatArray, FloatArray]:
        half = 0.5 * self.length * self.axis
        return self.centre - half, self.centre + half


class ReflectorBase(Spec):
    """Keys that all reflectors share.

    ==========  ===================================================================  =========================
    key         meaning                                                              unit, default
    ==========  ===================================================================  =========================
    name        how results call it                                                  text
    lamp        the lamp that it is attached to; without one it stands free          a lamp's name
    sweep       "along" the lamp's axis, or turned "around" the facing through its   along, around; along
                centre, which makes a dome
    facing      where it opens                                                       direction, the lamp's
    length      along the axis, about the lamp's middle (sweep along, with a lamp)   length, its lit part's
    from, to    ends of the axis of a free reflector (sweep along)                   three lengths each
    at          the profile's origin for a free reflector (sweep around)             three lengths
    ends        whether flat plates close the two ends (sweep along)                 true, false; false
    law         of the inside, towards the lamp                                      law
    outside     law of its back                                                      law, black
    ==========  ===================================================================  =========================

    The facing of a sweep along is turned square to the axis. The sheet has no thickness, and it must clear the lamp. A
    law that lets light through (screen, sheet, leaf) is one for both sides.
    """

    name: Name
    lamp: Name | None = None
    sweep: Literal["along", "around"] = "along"
    facing: Direction | None = None
    length: Length | None = None
    start: Position | None = Field(default=None, alias="from")
    end: Position | None = Field(default=None, alias="to")
    at: Position | None = None
    ends: bool = False
    law: LawRef
    outside: LawRef = Black(kind="black")

    @abstractmethod
    def points(self) -> FloatArray:
        """Return the profile as (across, towards facing) from the lamp's axis, (p, 2) [m].

        Its inside lies on the left of a walk along it; for a sweep around it starts at the axis or right of it.
        """

    @property
    def _turn(self) -> float:
        """Largest turn along a facet of a curved profile [rad]."""
        return TURN if self.sweep == "along" else TURN_AROUND

    @property
    @abstractmethod
    def _remedy(self) -> str:
        """What to change where it cuts through its lamp."""

    @model_validator(mode="after")
    def _possible(self) -> "ReflectorBase":
        self._check_place()
        points = self.points()
        if self.ends:
            end_plate(points, np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]))
        return self

    def _check_place(self) -> None:
        free, along = self.lamp is None, self.sweep == "along"
        given = {"from": self.start, "to": self.end, "at": self.at, "length": self.length, "ends": self.ends or None}
        wanted = () if not free else ("from", "to") if along else ("at",)
        refused = {key for key in ("from", "to", "at") if key not in wanted}
        if free or not along:
            refused |= {"length"}
        if not along:
            refused |= {"ends"}
        kind = f"a {'free reflector' if free else 'reflector on a lamp'} with sweep '{self.sweep}'"
        strays = [key for key in given if key in refused and given[key] is not None]
        if strays:
            raise ValueError(f"{kind} takes no '{strays[0]}'")
        if free and (self.facing is None or any(given[key] is None for key in wanted)):
            raise ValueError(f"{kind} needs {', '.join(wanted)} and facing; or give lamp = 'name of its lamp'")
        self._free_place()

    def surfaces(self, lamp: LampBody | None) -> list[Surface]:
        """Return the sheet, its front towards the lamp.

        Parameters
        ----------
        lamp : LampBody, optional
            Shape of the lamp that `lamp` names; None for a free reflector.

        Raises
        ------
        ValueError
            If the facing lies along the axis, or the sheet or an end plate would cut through the lamp.
        """
        points = self.points()
        if lamp is None or self.lamp is None:
            place = self._free_place()
        else:
            place = self._place_on(lamp)
            self._check_clear(points, place, lamp)
        if place is None:
            raise ValueError(f"it is attached to lamp '{self.lamp}', whose shape is missing")
        if self.sweep == "around":
            mesh = revolved(points, place.centre, place.facing, SIDES)
        else:
            mesh = self._swept(points, place)
        tangent = place.across if self.sweep == "around" else place.axis
        return [Surface(self.name, mesh, self.law, back_law=self.outside, measured=False, tangent=tangent)]

    def openings(self, lamp: LampBody) -> FloatArray:
        """Return the rectangles by which its light leaves, faces of the box around it, (n, 4, 3) [m].

        Of each the corner, two edges at right angles and the outward unit normal.

        Parameters
        ----------
        lamp : LampBody
            Shape of the lamp that it is attached to.
        """
        place, points = self._place_on(lamp), self.points()
        (left, back), (right, front) = points.min(axis=0), points.max(axis=0)
        half, around = 0.5 * place.length, self.sweep == "around"
        if around:
            left, half = -right, right
        across, axis, facing = place.across, place.axis, place.facing

        def face(at: tuple[float, float, float], u: FloatArray, v: FloatArray, normal: FloatArray) -> FloatArray:
            return np.stack([place.centre + at[0] * across + at[1] * facing + at[2] * axis, u, v, normal])

        wide, long = (right - left) * across, 2.0 * half * axis
        found = [face((left, front, -half), wide, long, facing)]
        if around or front == back:
            return np.stack(found)
        first, last = (points[0, 1], points[-1, 1]) if points[0, 0] <= points[-1, 0] else (points[-1, 1], points[0, 1])
        # By open ends; over end plates, and over a lip that does not reach the front, light leaves sideways as well.
        low = min(first, last) if self.ends else back
        faces = [((left, low, at), wide, np.sign(at) * axis, low) for at in (-half, half)]
        faces += [((left, first, -half), long, -across, first), ((right, last, -half), long, across, last)]
        for at, edge, normal, start in faces:
            if front - start > LEAST_GAP * (front - back):
                found.append(face(at, edge, (front - start) * facing, normal))
        return np.stack(found)

    def _swept(self, points: FloatArray, place: _Place) -> Mesh:
        start, end = place.ends
        cuts = np.linspace(0.0, 1.0, _pieces(points, place) + 1)[:, None]
        along = start + cuts * (end - start)
        sheet = joined([extruded(points, a, b, place.across, place.facing) for a, b in pairwise(along)])
        if not self.ends:
            return sheet
        plates = [end_plate(points, at, place.across, place.facing) for at in (start, end)]
        return joined([sheet, plates[0].flipped(), plates[1]])

    def _free_place(self) -> _Place | None:
        if self.facing is None:
            return None
        facing = np.array(self.facing)
        if self.at is not None:
            return _Place(np.array(self.at), _square_to(facing), facing, 0.0)
        if self.start is None or self.end is None:
            return None
        start, end = np.array(self.start), np.array(self.end)
        length = float(np.linalg.norm(end - start))
        if length == 0.0:
            raise ValueError("'from' and 'to' are the same point; they are the two ends of the reflector's axis")
        axis = (end - start) / length
        return _Place(0.5 * (start + end), axis, _squared(facing, axis), length)

    def _place_on(self, lamp: LampBody) -> _Place:
        facing = lamp.facing if self.facing is None else np.array(self.facing)
        if self.sweep == "around":
            return _Place(lamp.centre, _square_to(facing), facing, 0.0)
        lit = float(np.linalg.norm(lamp.end - lamp.start))
        axis = (lamp.end - lamp.start) / lit
        return _Place(lamp.centre, axis, _squared(facing, axis), lit if self.length is None else self.length)

    def _check_clear(self, points: FloatArray, place: _Place, lamp: LampBody) -> None:
        offset = lamp.body.vertices - place.centre
        up, side, along = offset @ place.facing, offset @ place.across, offset @ place.axis
        outline = np.stack([side, up], axis=1)
        if self.sweep == "around":
            # What the lamp sweeps when it is turned about the facing, on both sides of it.
            outline = np.stack([np.hypot(side, along), up], axis=1)
            outline = np.concatenate([outline, outline * [-1.0, 1.0]])
        if cuts_through(points, outline):
            raise ValueError(f"it would cut through lamp '{self.lamp}'; {self._remedy}")
        needed = 2.0 * float(np.abs(along).max())
        if self.ends and needed > place.length + 2e-9:
            lit = "" if self.length is not None else ", that of the lit part"
            raise ValueError(
                f"its end plates would cut through lamp '{self.lamp}', dark ends included; "
                f"make 'length' {100.0 * needed:.4g} cm or more ({in_cm(place.length)}{lit})"
            )


def _pieces(points: FloatArray, place: _Place) -> int:
    """Return into how many pieces a sheet is cut along its axis.

    Long narrow facets askew have upright boxes that all overlap, in which a ray looks at every one of them: whole, a
    parabola of 573 facets takes three times as long to trace as in pieces half as long as it is wide.
    """
    if np.abs(place.axis).max() > 1.0 - 1e-9 or len(points) < FEW_CORNERS:
        return 1
    return int(np.clip(np.ceil(2.0 * place.length / np.ptp(points, axis=0).max()), 1, MOST_PIECES))


def in_cm(length: float) -> str:
    """Return a length [m] as it is now, for a remedy: ``now 2 cm``."""
    return f"now {100.0 * length:g} cm"


def refuse_left(sweep: str, corners: Sequence[tuple[float, float]]) -> None:
    """Raise ValueError where a profile that is turned around has points left of its axis."""
    if sweep == "around" and min(across for across, _ in corners) < 0.0:
        raise ValueError("points of a sweep 'around' count across from its axis, so the first number is 0 or more")


def _square_to(facing: FloatArray) -> FloatArray:
    """Return any unit vector perpendicular to a unit vector."""
    least = np.eye(3)[int(np.argmin(np.abs(facing)))]
    across = np.cross(facing, least)
    unit: FloatArray = across / np.linalg.norm(across)
    return unit


def _squared(facing: FloatArray, axis: FloatArray) -> FloatArray:
    """Return the unit part of the facing perpendicular to the axis."""
    part = facing - (facing @ axis) * axis
    length = float(np.linalg.norm(part))
    if length < np.sin(np.radians(1.0)):
        raise ValueError(
            "it cannot open along its own axis; give a facing square to the axis, or sweep = 'around' for a dome"
        )
    return part / length
