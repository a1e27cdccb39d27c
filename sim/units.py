"""Quantities with a unit at the edge of the program, SI numbers inside.

A scene file says ``"30 cm"``, ``"1.5 W"``, ``"30 deg"``; a bare number is refused, because nobody can tell
whether ``30`` meant centimetres or inches. The annotated types below parse such strings into SI floats (lengths in
metres, powers in watts, angles in radians, irradiances in W/m2) and wavelengths into nanometres.
"""

import math
import re
from collections.abc import Callable, Mapping
from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema

LENGTH: Mapping[str, float] = {"um": 1e-6, "mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}
ANGLE: Mapping[str, float] = {"deg": math.pi / 180.0, "rad": 1.0}
POWER: Mapping[str, float] = {"uW": 1e-6, "mW": 1e-3, "W": 1.0}
WAVELENGTH: Mapping[str, float] = {"nm": 1.0, "um": 1e3}
IRRADIANCE: Mapping[str, float] = {"uW/cm2": 1e-2, "mW/cm2": 10.0, "mW/m2": 1e-3, "W/m2": 1.0}
SHARE: Mapping[str, float] = {"%": 0.01}

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"^\s*({_NUMBER})\s*(\S*)\s*$")


def parse_quantity(value: object, table: Mapping[str, float], noun: str, example: str) -> float:
    """Return a quantity in the base unit of its table.

    Parameters
    ----------
    value : object
        What the file holds; only a string with a number and a unit is accepted.
    table : mapping
        Unit symbol to its size in the base unit.
    noun, example : str
        Words for the message, such as ``"length"`` and ``"30 cm"``.

    Raises
    ------
    ValueError
        For a bare number, a missing, unknown or wrong unit, or a value that is not finite.
    """
    allowed = ", ".join(table)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"is not a {noun}; write one such as '{example}'")
    if isinstance(value, int | float):
        raise ValueError(f"{noun} needs a unit: write '{value:g} {example.split()[-1]}' (allowed: {allowed})")
    match = _QUANTITY.match(value)
    if match is None:
        raise ValueError(f"'{value}' is not a {noun}; write one such as '{example}'")
    number, unit = match.groups()
    if not unit:
        raise ValueError(f"{noun} needs a unit: write '{number} {example.split()[-1]}' (allowed: {allowed})")
    if unit not in table:
        raise ValueError(f"unknown {noun} unit '{unit}'; allowed: {allowed}")
    result = float(number) * table[unit]
    if not math.isfinite(result):
        raise ValueError(f"'{value}' is not a finite {noun}")
    return result


def _reader(table: Mapping[str, float], noun: str, example: str) -> Callable[[object], float]:
    def read(value: object) -> float:
        return parse_quantity(value, table, noun, example)

    return read


def _schema(table: Mapping[str, float], noun: str, example: str) -> WithJsonSchema:
    units = "|".join(re.escape(unit) for unit in table)
    return WithJsonSchema(
        {
            "type": "string",
            "pattern": rf"^\s*{_NUMBER}\s*({units})\s*$",
            "description": f"{noun} with a unit",
            "examples": [example],
        }
    )


def read_share(value: object) -> float:
    """Return a share between 0 and 1 from ``"5 %"`` or from a bare fraction such as ``0.05``.

    Raises
    ------
    ValueError
        For anything else, or a value outside 0 to 1.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        share = float(value)
    else:
        share = parse_quantity(value, SHARE, "share", "5 %")
    if not 0.0 <= share <= 1.0:
        # Percent without their sign, as a bare number; below two it may as well be a share that is a little too high.
        meant = f"; write '{share:g} %' if that is meant" if value == share and 2.0 <= share <= 100.0 else ""
        raise ValueError(f"share {share:g} is outside 0 to 1 (that is 0 % to 100 %){meant}")
    return share


def read_share_range(value: object) -> tuple[float, float]:
    """Return the two shares of a list of two, or one share twice.

    Raises
    ------
    ValueError
        For anything else, or where the second is below the first.
    """
    if not isinstance(value, list | tuple):
        share = read_share(value)
        return share, share
    if len(value) != 2:
        raise ValueError("is one share, such as '25 %', or the two between which it lies, such as ['15 %', '35 %']")
    low, high = (read_share(part) for part in value)
    if low > high:
        raise ValueError(f"the lower of two shares comes first, not {low:g} before {high:g}")
    return low, high


def _share_schema() -> WithJsonSchema:
    text = {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*%\s*$", "examples": ["5 %"]}
    return WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, text]})


def _share_range_schema() -> WithJsonSchema:
    text = {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*%\s*$", "examples": ["5 %"]}
    one = {"anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, text]}
    two = {"type": "array", "items": one, "minItems": 2, "maxItems": 2}
    return WithJsonSchema({"anyOf": [one, two]})


Coordinate = Annotated[float, BeforeValidator(_reader(LENGTH, "length", "30 cm")), _schema(LENGTH, "length", "30 cm")]
Length = Annotated[Coordinate, Field(gt=0.0)]
Gap = Annotated[Coordinate, Field(ge=0.0)]
Angle = Annotated[float, BeforeValidator(_reader(ANGLE, "angle", "30 deg")), _schema(ANGLE, "angle", "30 deg")]
Power = Annotated[
    float, BeforeValidator(_reader(POWER, "power", "1.5 W")), Field(gt=0.0), _schema(POWER, "power", "1.5 W")
]
Wavelength = Annotated[
    float,
    BeforeValidator(_reader(WAVELENGTH, "wavelength", "310 nm")),
    Field(gt=0.0),
    _schema(WAVELENGTH, "wavelength", "310 nm"),
]
Irradiance = Annotated[
    float,
    BeforeValidator(_reader(IRRADIANCE, "irradiance", "150 uW/cm2")),
    Field(gt=0.0),
    _schema(IRRADIANCE, "irradiance", "150 uW/cm2"),
]
Share = Annotated[float, BeforeValidator(read_share), _share_schema()]
ShareRange = Annotated[tuple[float, float], BeforeValidator(read_share_range), _share_range_schema()]
Position = tuple[Coordinate, Coordinate, Coordinate]


def _unit_vector(value: object) -> object:
    if not isinstance(value, list | tuple) or len(value) != 3:
        raise ValueError("a direction is three bare numbers, such as [0, 0, 1]")
    if any(isinstance(part, bool) or not isinstance(part, int | float) for part in value):
        raise ValueError("a direction is three bare numbers without a unit, such as [0, 0, 1]")
    norm = math.sqrt(sum(float(part) ** 2 for part in value))
    if not math.isfinite(norm) or norm == 0.0:
        raise ValueError("a direction must have a finite length above zero, such as [0, 0, 1]")
    return tuple(float(part) / norm for part in value)


Direction = Annotated[tuple[float, float, float], BeforeValidator(_unit_vector)]
