"""A reflector lamp: its aperture, and where its light goes."""

from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import AfterValidator, ConfigDict, ValidationInfo, model_validator

from sim.geometry.mesh import FloatArray
from sim.geometry.solids import disc
from sim.geometry.sweeps import cylinder
from sim.lamps.distribution import Distribution, beam_distribution
from sim.lamps.eulumdat import read_eulumdat
from sim.lamps.lamp import LampBase, LampShape, frame_about
from sim.lamps.lm63 import read_lm63
from sim.spec import SceneFile
from sim.units import Angle, Length, Position

READERS = {".ies": read_lm63, ".ldt": read_eulumdat}
NARROWEST, WIDEST = np.radians(1.0), np.radians(120.0)
ROUNDING = 1e-9
"""Beam angles of the closed law, and what may be beyond them [rad]; 120 degrees is the cosine law itself."""
APERTURE_SIDES = 64
"""Sides of an aperture, a polygon of the circle's area: its second moment is right to 6e-6."""
FAR = 5.0
"""Distances from an aperture, over its diameter, from which a distribution holds (common practice of photometry)."""
MOST_BEHIND = 0.1
TOLD_BEHIND = 0.001
"""Shares of a file's light beyond 90 degrees: above the first it is no reflector lamp, above the second it is told."""


def read_distribution(path: Path) -> Distribution:
    """Return the intensities of a photometric file by its suffix: ``.ies`` (LM-63) or ``.ldt`` (EULUMDAT).

    Raises
    ------
    ValueError
        One line on what is wrong with the file, or if too much of its light leaves backwards.
    OSError
        If the file cannot be read.
    """
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise ValueError(f"'{path.name}' is no photometric file that can be read; use one of {', '.join(READERS)}")
    found = reader(path)
    if found.share_behind > MOST_BEHIND:
        raise ValueError(
            f"{path.name}: {found.share_behind:.0%} of its light leaves at more than 90 deg from straight ahead, which "
            "an aperture cannot do; describe this lamp as a tube, compact lamp or panel"
        )
    return found


def _readable(path: Path) -> Path:
    read_distribution(path)
    return path


def _possible_beam(beam: float) -> float:
    if not NARROWEST - ROUNDING <= beam <= WIDEST + ROUNDING:
        raise ValueError(
            f"a beam of {np.degrees(beam):g} deg is none of a reflector; beam angles are 1 deg to 120 deg, and a lamp "
            "that shines wider is a panel"
        )
    return beam


def _output_or_file_unit(schema: dict[str, Any]) -> None:
    """Take the output out of what must be there: `file_unit` stands for it."""
    schema["required"] = [key for key in schema["required"] if key != "output"]


class Spot(LampBase):
    """A reflector lamp: a round aperture from which light leaves by a measured or a stated distribution.

    ============  ==============================================================  =======================
    key           meaning                                                         unit, default
    ============  ==============================================================  =======================
    at            centre of the aperture                                          three lengths
    facing        where it shines; readings are taken that way                    direction, [0, 0, -1]
    diameter      of the aperture                                                 length
    depth         length of an opaque body behind it, a cylinder                  length, no body
    distribution  photometric file beside the scene: ``.ies`` (LM-63) or          path
                  ``.ldt`` (EULUMDAT)
    beam          instead of a file: full angle at half of the peak intensity     angle, 1 to 120 deg
    turn          turns the file's half-planes about the facing, anticlockwise    angle, 0
                  seen against it; at 0 C 0 stands towards +x (towards +y where
                  the lamp faces along x)
    file_unit     "W/sr" takes the file's numbers as radiant intensities over     W/sr; a shape without
                  the wavelengths of the run, and stands for `output`             strength
    ============  ==============================================================  =======================

    All lamps also have: name, spectrum, output, level, body.

    Example::

        [[lamps]]
        name = "spot"
        kind = "spot"
        at = ["60 cm", "30 cm", "58 cm"]
        diameter = "9 cm"
        depth = "11 cm"
        beam = "40 deg"
        spectrum = "uvb-phosphor-312"
        output = { uvi = 4.0, at = "50 cm", setting = "bare" }

    Notes
    -----
    Photometric files state candela, which say nothing of ultraviolet. So only the shape of a file is used, the same
    at all wavelengths, and `output` says how strong the lamp is; unless `file_unit` says that the numbers are W/sr.

    Every point of the aperture sends light out by the same distribution. It was measured from afar: nearer than about
    five diameters the true light depends on how lens and reflector are made, and what is computed is approximate.
    Light that a file has at more than 90 degrees from the facing is left out. Seen from behind, C runs anticlockwise.
    The closed law is cos^n, without the spill that real reflectors have.
    """

    model_config = ConfigDict(json_schema_extra=_output_or_file_unit)

    kind: Literal["spot"]
    at: Position
    diameter: Length
    depth: Length | None = None
    distribution: Annotated[SceneFile, AfterValidator(_readable)] | None = None
    beam: Annotated[Angle, AfterValidator(_possible_beam)] | None = None
    turn: Angle = 0.0
    file_unit: Literal["W/sr"] | None = None

    @model_validator(mode="before")
    @classmethod
    def _strength_from_file(cls, data: Any, info: ValidationInfo) -> Any:  # noqa: ANN401  # whatever a file says
        """Give the output that the file's numbers mean, where they are said to be W/sr."""
        if not isinstance(data, dict) or data.get("file_unit") != "W/sr":
            return data
        if "output" in data:
            raise ValueError("'file_unit' says how strong the lamp is; leave 'output' out, or 'file_unit'")
        if not isinstance(data.get("distribution"), str | Path):
            raise ValueError("'file_unit' goes with 'distribution', the file whose numbers it means")
        path = Path((info.context or {}).get("folder", ".")) / data["distribution"]
        try:
            power = read_distribution(path).front().power
        except (OSError, ValueError):
            power = 1.0  # the key of the file tells what is wrong with it
        return data | {"output": {"radiant": f"{power!r} W"}}

    def _check_shape(self) -> None:
        if (self.distribution is None) == (self.beam is None):
            found = "found none" if self.beam is None else "found both"
            raise ValueError(
                f"exactly one of 'distribution' (a file) and 'beam' (an angle) says where light goes; {found}"
            )
        if self.beam is not None and "turn" in self.model_fields_set:
            raise ValueError("'turn' goes with 'distribution'; a beam is the same all round")

    @property
    def reach(self) -> float:
        """Zero: nothing stands before the aperture [m]."""
        return 0.0

    @property
    def directions(self) -> Distribution:
        """Intensity by direction within 90 degrees of the facing, in any scale."""
        if self.distribution is not None:
            return read_distribution(self.distribution).front()
        assert self.beam is not None, "validation asks for one of the two"
        return beam_distribution(self.beam)

    @property
    def notes(self) -> tuple[str, ...]:
        """Where its distribution stops being true, and what of the file was left out or taken at its word."""
        told = [
            f"its distribution holds from afar: nearer than about {100.0 * FAR * self.diameter:.3g} cm "
            f"({FAR:g} diameters) its light is approximate"
        ]
        if self.distribution is not None:
            behind = read_distribution(self.distribution).share_behind
            if behind > TOLD_BEHIND:
                told.append(f"{behind:.1%} of the light in {self.distribution.name} leaves backwards and is left out")
        if self.file_unit is not None:
            told.append("the numbers of its file are taken as W/sr over the traced wavelengths")
        return tuple(told)

    @property
    def _axes(self) -> FloatArray:
        """Unit vectors towards C 0, towards C 90 and along the facing, (3, 3)."""
        x, y, facing = frame_about(np.array(self.facing))
        zero = np.cos(self.turn) * x + np.sin(self.turn) * y
        return np.stack([zero, -np.cross(facing, zero), facing])

    def shape(self) -> LampShape:
        """Return the aperture, lit, and the body behind it."""
        centre, axes = np.array(self.at), self._axes
        radius = 0.5 * self.diameter
        if self.depth is None:
            body, emits = disc(centre, axes[2], radius, APERTURE_SIDES), np.ones(APERTURE_SIDES, dtype=np.bool_)
        else:
            body = cylinder(centre - self.depth * axes[2], centre, radius, APERTURE_SIDES)
            # A prism's triangles are its sides, the cap at its start and the one at its end.
            emits = np.arange(len(body.faces)) >= 3 * APERTURE_SIDES
        return LampShape(
            body=body,
            emits=emits,
            start=centre - radius * axes[0],
            end=centre + radius * axes[0],
            centre=centre,
            facing=axes[2],
            radius=radius if self.depth is None else float(np.hypot(radius, self.depth)),
            open_body=self.depth is None,
            directions=self.directions,
            axes=axes,
        )
