"""Lamps for tests, from the keys of a scene file."""

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from sim.lamps.any_lamp import Lamp
from sim.lamps.lamp import LampBase

LAMP: TypeAdapter[LampBase] = TypeAdapter(Lamp)
COMMON = {"name": "lamp", "spectrum": "uvb-phosphor-306", "output": {"radiant": "1 W"}}
TUBE = COMMON | {
    "kind": "tube",
    "from": ["-30 cm", "0 cm", "0 cm"],
    "to": ["30 cm", "0 cm", "0 cm"],
    "radius": "13 mm",
}
LIMBS = COMMON | {
    "kind": "compact",
    "form": "limbs",
    "base": ["10 cm", "20 cm", "30 cm"],
    "facing": [0, 1, 0],
    "limbs": 4,
    "limb_length": "10 cm",
    "limb_radius": "6 mm",
    "ring": "28 mm",
}
HELIX = COMMON | {
    "kind": "compact",
    "form": "helix",
    "base": ["0 cm", "0 cm", "0 cm"],
    "turns": 3.5,
    "height": "6 cm",
    "coil_radius": "22 mm",
    "tube_radius": "5 mm",
}
PANEL = COMMON | {
    "kind": "panel",
    "corner": ["30 cm", "40 cm", "60 cm"],
    "edge_u": ["60 cm", "0 cm", "0 cm"],
    "edge_v": ["0 cm", "-20 cm", "0 cm"],
}
SPOT = COMMON | {
    "kind": "spot",
    "at": ["10 cm", "20 cm", "30 cm"],
    "diameter": "9 cm",
    "beam": "40 deg",
}


def lamp(keys: dict[str, Any], **changes: object) -> LampBase:
    """Return the lamp of some keys, after changes; a change to None takes the key out."""
    return LAMP.validate_python({key: value for key, value in (keys | changes).items() if value is not None})


def refusal(keys: dict[str, Any], **changes: object) -> str:
    """Return what a person is told about a lamp that is refused."""
    with pytest.raises(ValidationError) as caught:
        lamp(keys, **changes)
    return "; ".join(str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors())
