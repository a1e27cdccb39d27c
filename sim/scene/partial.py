"""The names in a document of which some tables are wrong: what is wrong with them besides."""

import copy
from collections.abc import Callable, Iterable
from typing import Any

from pydantic import ValidationError

from sim.scene.fault import Fault
from sim.scene.model import NAMES_FAULT, Scene
from sim.scene.position import KeyPath, value_at

_STAND_IN = {
    "name": "stand-in for the lamps taken out",
    "kind": "panel",
    "corner": ["0 m", "0 m", "0 m"],
    "edge_u": ["1 m", "0 m", "0 m"],
    "edge_v": ["0 m", "1 m", "0 m"],
    "spectrum": {"lines": [{"at": "310 nm"}]},
    "output": {"radiant": "1 W"},
}
"""A scene without any lamp does not validate, but the names in it may be looked at all the same."""

Validate = Callable[[dict[str, Any]], Scene]


def name_faults(data: dict[str, Any], faults: Iterable[Fault], validate: Validate) -> list[Fault]:
    """Return the faults of names in the tables that have no other fault.

    Parameters
    ----------
    data : dict
        The document, which does not validate.
    faults : iterable of Fault
        Why it does not.
    validate : callable
        Returns the scene of a document.

    Notes
    -----
    Tables with a fault are taken out and the rest is validated. What refers to a table that was taken out is not
    told: it may well be right.
    """
    wrong = {fault.path[: _table_depth(fault.path)] for fault in faults}
    rest, kept = _without(data, wrong)
    try:
        validate(rest)
    except ValidationError as error:
        details = error.errors(include_url=False)
        if details[0]["type"] != NAMES_FAULT:
            return []
        found = [_moved_back(fault, kept) for fault in details[0]["ctx"]["faults"]]
        lost = [name for path in wrong if (name := _name(data, path))]
        return [fault for fault in found if not _means_lost(fault, value_at(data, fault.path), lost, wrong)]
    return []


def _table_depth(path: KeyPath) -> int:
    """Return how many keys lead to the table that is taken out: an entry of a list, a law, or a table of the top."""
    return 2 if len(path) > 1 and (isinstance(path[1], int) or path[0] == "laws") else 1


def _without(data: dict[str, Any], wrong: set[KeyPath]) -> tuple[dict[str, Any], dict[str, list[int]]]:
    """Return the document without some tables, and the former index of each entry of its lists."""
    rest = {key: copy.copy(value) for key, value in data.items() if (key,) not in wrong}
    kept = {}
    for key, value in rest.items():
        if isinstance(value, list):
            kept[key] = [index for index in range(len(value)) if (key, index) not in wrong]
            rest[key] = [value[index] for index in kept[key]]
        elif key == "laws" and isinstance(value, dict):
            rest[key] = {name: law for name, law in value.items() if (key, name) not in wrong}
    rest.setdefault("title", "untitled")
    if not rest.get("lamps"):
        rest["lamps"] = [_STAND_IN]
        kept["lamps"] = [0]
    return rest, kept


def _moved_back(fault: Fault, kept: dict[str, list[int]]) -> Fault:
    key, *others = fault.path
    if key in kept and others and isinstance(others[0], int):
        return Fault((key, kept[str(key)][others[0]], *others[1:]), fault.message)
    return fault


def _name(data: dict[str, Any], path: KeyPath) -> str | None:
    """Return the name of a table that was taken out, if it has one."""
    if len(path) < 2:
        return None
    if path[0] == "laws":
        return str(path[1])
    entry = value_at(data, path)
    name = entry.get("name") if isinstance(entry, dict) else None
    return name if isinstance(name, str) else None


def _means_lost(fault: Fault, name: object, lost: list[str], wrong: set[KeyPath]) -> bool:
    """Whether a name may be that of something taken out: a thing, one of its surfaces, or a wall."""
    if any(name == other or str(name).startswith(f"{other}.") for other in lost):
        return True
    if "lamp" in fault.path or "towards" in fault.path:
        sources = {"lamps"}
    elif "surface" in fault.path or "reach" in fault.path:
        sources = {"enclosure", "parts"}
    elif fault.path[-1] in ("name", "spectrum"):
        sources = set()
    else:
        sources = {"laws"}
    # Near-misses of what was taken out could not be suggested; the next reading will.
    return any(path[0] in sources for path in wrong)
