"""The JSON Schema of scene files, for editors and for messages about keys."""

import inspect
import re
from collections.abc import Iterator
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from sim.scene.model import Scene

_SCHEMA_KEYS = {"type", "$ref", "anyOf", "oneOf", "const"}
_RULE = re.compile(r"=+(?:\s+=+)+")


def scene_schema() -> dict[str, Any]:
    """Return the JSON Schema of a scene file, draft 2020-12.

    The manual pages of the specs are its source: a table's first sentence describes a table, its rows describe the
    keys.
    """
    schema = Scene.model_json_schema(by_alias=True, mode="validation")
    tables = {name: schema["$defs"][name] for name in schema["$defs"]} | {"Scene": schema}
    for spec in _specs(Scene):
        _describe(tables[spec.__name__], spec)
    for node in _all_nodes(schema):
        node.pop("title", None)
        if "default" in node and not _fits(node["default"], node):
            del node["default"]
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "vivray scene"}
    return head | schema


def _describe(table: dict[str, Any], spec: type[BaseModel]) -> None:
    table["description"] = inspect.cleandoc(spec.__doc__ or "").split("\n\n")[0].replace("\n", " ")
    meanings = key_meanings(spec)
    described = {field.alias or name for name, field in spec.model_fields.items() if field.description}
    for key, node in table.get("properties", {}).items():
        if key in meanings and key not in described:
            node["description"] = meanings[key]
        elif "const" in node:
            node["description"] = "tells which of the forms of this table is meant"


@cache
def key_meanings(spec: type[BaseModel]) -> dict[str, str]:
    """Return what each key of a spec means, from the tables of its manual page and of those that it extends."""
    meanings: dict[str, str] = {}
    for page in reversed(spec.__mro__):
        if issubclass(page, BaseModel):
            meanings |= _rows(inspect.cleandoc(page.__doc__ or ""))
    return meanings


def _rows(page: str) -> dict[str, str]:
    """Return the second column of the tables in a docstring by the keys in the first."""
    rows: dict[str, str] = {}
    spans: list[tuple[int, int]] = []
    names: list[str] = []
    for line in page.splitlines():
        if _RULE.fullmatch(line.strip()):
            spans = [match.span() for match in re.finditer("=+", line)]
            continue
        if not spans or not line.strip():
            spans = []
            continue
        meaning = line[spans[1][0] : spans[2][0] if len(spans) > 2 else None].strip()
        first = line[: spans[0][1]].strip()
        if first:
            names = [name.strip() for name in first.split(",")]
            rows |= dict.fromkeys(names, meaning)
        else:
            rows |= {name: f"{rows[name]} {meaning}".strip() for name in names}
    return rows


def _fits(default: object, node: dict[str, Any]) -> bool:
    """Whether a default could stand in a file: numbers in SI units could not, where a file says them with a unit."""
    if isinstance(default, list):
        return all(_fits(*pair) for pair in zip(default, node.get("prefixItems", ()), strict=False))
    forms = {form.get("type") for form in (node, *node.get("anyOf", ()))}
    if isinstance(default, float):
        return "number" in forms
    return not isinstance(default, dict)


def _specs(spec: type[BaseModel]) -> set[type[BaseModel]]:
    found: set[type[BaseModel]] = set()
    waiting: list[type[BaseModel]] = [spec]
    while waiting:
        current = waiting.pop()
        if current not in found:
            found.add(current)
            for field in current.model_fields.values():
                waiting += _models(field.annotation)
    return found


def _models(annotation: object) -> Iterator[type[BaseModel]]:
    if inspect.isclass(annotation) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)


def _all_nodes(node: object) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        if _SCHEMA_KEYS & node.keys():
            yield node
        for inner in list(node.values()):
            yield from _all_nodes(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from _all_nodes(inner)
