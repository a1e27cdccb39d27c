"""Which keys a scene file may use, and where: the JSON Schema, asked by place in a document."""

import difflib
import json
from collections.abc import Iterable, Iterator
from typing import Any

from sim.scene.position import KeyPath

Node = dict[str, Any]


class Vocabulary:
    """The keys of a JSON Schema.

    Parameters
    ----------
    schema : dict
        As `scene_schema` returns it.
    """

    def __init__(self, schema: Node) -> None:
        self._schema = schema

    def keys(self, document: object, path: KeyPath) -> list[str]:
        """Return the keys that the table at a path may have; empty where any name is one."""
        nodes = self.nodes(document, path)
        return list(dict.fromkeys(key for node in nodes for key in node.get("properties", ())))

    def nodes(self, document: object, path: KeyPath) -> list[Node]:
        """Return the schema's nodes that may describe the value at a path, references and choices resolved.

        Parameters
        ----------
        document : object
            The parsed file; its ``kind`` keys tell which choice is meant.
        path : KeyPath
        """
        value = document
        nodes = list(self._choices(self._schema, value))
        for key in path:
            value = _child(value, key)
            nodes = [choice for node in nodes for inner in _inner(node, key) for choice in self._choices(inner, value)]
        return nodes

    def example(self, document: object, path: KeyPath) -> str | None:
        """Return a value that could stand at a path, as TOML writes it; None for what is too much for a line."""
        nodes = self.nodes(document, path)
        return self._example(nodes[0]) if nodes else None

    def tags(self, document: object, path: KeyPath, key: str) -> list[str]:
        """Return the values that a key may have which tells the forms of a table apart, such as ``kind``."""
        found = (node.get("properties", {}).get(key, {}) for node in self.nodes(document, path))
        return list(dict.fromkeys(str(node["const"]) for node in found if "const" in node))

    def _choices(self, node: Node, value: object) -> Iterator[Node]:
        if "$ref" in node:
            name = str(node["$ref"]).rpartition("/")[2]
            yield from self._choices(self._schema["$defs"][name], value)
            return
        tags = node.get("discriminator", {}).get("mapping", {})
        tag = value.get(node["discriminator"]["propertyName"]) if tags and isinstance(value, dict) else None
        if isinstance(tag, str) and tag in tags:
            target = tags[tag]
            yield from self._choices({"$ref": target} if isinstance(target, str) else target, value)
            return
        parts = node.get("anyOf", node.get("oneOf", node.get("allOf")))
        if parts is None:
            yield node
        for part in parts or ():
            yield from self._choices(part, value)

    def _example(self, node: Node) -> str | None:
        if "$ref" in node:
            return self._example(next(self._choices(node, None)))
        if node.get("examples"):
            return json.dumps(node["examples"][0])
        if "const" in node or node.get("enum"):
            return json.dumps(node.get("const", (node.get("enum") or [None])[0]))
        entries = node.get("prefixItems")
        if entries:
            if all(entry.get("type") == "number" for entry in entries):
                return json.dumps([0] * (len(entries) - 1) + [1])
            shown = [self._example(entry) for entry in entries]
            return None if None in shown else f"[{', '.join(filter(None, shown))}]"
        return {"string": '"…"', "integer": "1", "number": "0.5", "boolean": "true"}.get(node.get("type", ""))


def closest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that was most likely meant, if any is near enough."""
    by_lower = {other.lower(): other for other in known}
    matches = difflib.get_close_matches(name.lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[matches[0]] if matches else None


def suggestion(name: str, known: Iterable[str], noun: str) -> str:
    """Return the end of a message about an unknown name: the nearest one, or those there are.

    Parameters
    ----------
    name : str
        What was written.
    known : iterable of str
        What could have been.
    noun : str
        What the known ones are, in the plural: ``laws``, ``surfaces``.
    """
    names = sorted(set(known))
    near = closest(name, names)
    if near is not None:
        return f"did you mean '{near}'?"
    if not names:
        return f"there are no {noun}"
    shown = ", ".join(names[:MOST_SHOWN])
    return f"{noun}: {shown}" + (f" … ({len(names)} in all)" if len(names) > MOST_SHOWN else "")


MOST_SHOWN = 16
"""Names that a message lists before it breaks off."""


def _child(value: object, key: str | int) -> object:
    if isinstance(value, dict):
        return value.get(key)
    if isinstance(value, list) and isinstance(key, int) and key < len(value):
        return value[key]
    return None


def _inner(node: Node, key: str | int) -> Iterator[Node]:
    if isinstance(key, int):
        entries = node.get("prefixItems", [])
        inner = entries[key] if key < len(entries) else node.get("items")
    else:
        # A table with names of the user's own has one schema for all of them, whatever pattern they must match.
        patterns = [*node.get("patternProperties", {}).values(), node.get("additionalProperties")]
        inner = node.get("properties", {}).get(key, patterns[0])
    if isinstance(inner, dict):
        yield inner
