"""From validation errors to faults: the right place, one fault for one mistake."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from sim.scene.fault import Fault, key_text
from sim.scene.position import KeyPath, value_at
from sim.scene.vocabulary import Vocabulary, closest, suggestion
from sim.scene.wording import EXPECTED, sentence, shown

_NOTHING = object()


class _Step(NamedTuple):
    """A key of the document, or the label of a branch of a choice."""

    key: str | int
    is_label: bool


class _Entry(NamedTuple):
    """An error, the steps to it and the value there."""

    steps: tuple[_Step, ...]
    error: Mapping[str, Any]
    value: object

    @property
    def path(self) -> KeyPath:
        return tuple(step.key for step in self.steps if not step.is_label)

    def depth(self, start: int) -> int:
        return sum(not step.is_label for step in self.steps[start:])

    @property
    def kind(self) -> str:
        return str(self.error["type"])


def explain(errors: Iterable[Mapping[str, Any]], document: object, vocabulary: Vocabulary) -> list[Fault]:
    """Return the faults behind the errors of one validation, at most one for each place.

    Parameters
    ----------
    errors : iterable of mappings
        As ``ValidationError.errors()`` returns them.
    document : object
        What was validated: tables, arrays and scalars as TOML gives them.
    vocabulary : Vocabulary
        The keys that the document may use.

    Notes
    -----
    Where a value may take several forms, each form reports why it does not fit. Only the form that was most likely
    meant is kept: the one that reads furthest into the value. A misspelt key is an unknown one and a missing one; it
    is told once.
    """
    entries = _chosen([_located(error, document) for error in errors], 0)
    faults = [_Explainer(document, vocabulary, entries).fault(entry) for entry in entries]
    first: dict[KeyPath, Fault] = {}
    for fault in faults:
        if fault is not None:
            first.setdefault(fault.path, fault)
    # A table that is wrong because a key in it is wrong is not wrong twice.
    outer = {path[:length] for path in first for length in range(len(path))}
    return [fault for path, fault in first.items() if path not in outer]


def _located(error: Mapping[str, Any], document: object) -> _Entry:
    steps = []
    value = document
    location = error["loc"]
    for index, key in enumerate(location):
        is_last = index == len(location) - 1
        below = _below(value, key, missing=is_last and error["type"] == "missing")
        is_label = below is _NOTHING
        steps.append(_Step(key, is_label))
        value = value if is_label else below
    return _Entry(tuple(steps), error, value)


def _below(value: object, key: str | int, missing: bool) -> object:
    """Return what stands below a value under a key; `_NOTHING` where the key is only the label of a choice."""
    if isinstance(value, dict) and key in value and key not in (value.get("kind"), value.get("form")):
        return value[key]
    if isinstance(value, list) and isinstance(key, int):
        return value[key] if key < len(value) else None
    return None if missing else _NOTHING


def _chosen(entries: list[_Entry], depth: int) -> list[_Entry]:
    """Return the entries without those of forms that were not meant, from one depth of their steps downwards."""
    kept = [entry for entry in entries if len(entry.steps) == depth]
    groups: dict[_Step, list[_Entry]] = {}
    for entry in entries:
        if len(entry.steps) > depth:
            groups.setdefault(entry.steps[depth], []).append(entry)
    inner = {step: _chosen(group, depth + 1) for step, group in groups.items()}
    for step, group in inner.items():
        if not step.is_label:
            kept += group
    forms = [group for step, group in inner.items() if step.is_label]
    return kept + _meant(forms, depth)


def _meant(forms: list[list[_Entry]], depth: int) -> list[_Entry]:
    if len(forms) < 2:
        return forms[0] if forms else []
    best = max(forms, key=lambda form: _nearness(form, depth))
    alone = best[0] if len(best) == 1 and best[0].depth(depth) == 0 else None
    if alone is None:
        return best
    others = [form[0] for form in forms if form is not best and form[0].depth(depth) == 0]
    literals = [entry.error["ctx"]["expected"] for entry in others if entry.kind == "literal_error"]
    if not literals or alone.kind in EXPECTED:
        return best
    return [_reworded(alone, f"{sentence(alone.error, alone.value)}, or {' or '.join(literals)}")]


def _nearness(form: list[_Entry], depth: int) -> tuple[int, bool, int]:
    furthest = max(entry.depth(depth) for entry in form)
    return furthest, form[0].kind not in EXPECTED and form[0].kind != "literal_error", -len(form)


def _reworded(entry: _Entry, message: str) -> _Entry:
    return entry._replace(error={"type": "value_error", "loc": entry.error["loc"], "msg": message})


class _Explainer:
    """Words each entry, knowing all the others."""

    def __init__(self, document: object, vocabulary: Vocabulary, entries: list[_Entry]) -> None:
        self._document = document
        self._vocabulary = vocabulary
        self._misspelt = {}
        for entry in entries:
            if entry.kind == "extra_forbidden":
                near = closest(str(entry.path[-1]), self._unused(entry.path[:-1]))
                self._misspelt[(*entry.path[:-1], near)] = entry

    def fault(self, entry: _Entry) -> Fault | None:
        """Return the fault of an entry; None where another entry tells it."""
        path = entry.path
        match entry.kind:
            case "missing":
                return None if path in self._misspelt else self._missing(path)
            case "extra_forbidden":
                message = f"unknown key; {suggestion(str(path[-1]), self._unused(path[:-1]), 'keys here')}"
            case "union_tag_not_found" | "union_tag_invalid":
                return self._tag(entry)
            case "list_type" | "tuple_type" if isinstance(entry.value, dict) and self._of_tables(path):
                header = key_text(tuple(key for key in path if not isinstance(key, int)))
                message = f"is one table; write a list of tables: [[{header}]], or [{{ … }}]"
            case kind if kind in EXPECTED:
                message = f"is {shown(entry.value)}; write {self._forms(path) or EXPECTED[kind]}"
            case _:
                is_key = entry.steps and entry.steps[-1].key == "[key]"
                message = sentence(entry.error, path[-1] if is_key else entry.value)
        return Fault(path, message)

    def _unused(self, path: KeyPath) -> list[str]:
        table = value_at(self._document, path)
        present = table if isinstance(table, dict) else {}
        return [key for key in self._vocabulary.keys(self._document, path) if key not in present]

    def _missing(self, path: KeyPath) -> Fault:
        if isinstance(path[-1], int):
            return Fault(path[:-1], self._entry_count(path[:-1]))
        example = self._vocabulary.example(self._document, path)
        if example:
            return Fault(path, f"is missing; write {path[-1]} = {example}")
        is_list = any(node.get("type") == "array" for node in self._vocabulary.nodes(self._document, path))
        header = key_text(tuple(key for key in path if not isinstance(key, int)))
        return Fault(path, f"is missing; add a table {f'[[{header}]]' if is_list else f'[{header}]'}")

    def _of_tables(self, path: KeyPath) -> bool:
        """Return whether the list at a path holds tables."""
        return any(node.get("type") == "object" for node in self._vocabulary.nodes(self._document, (*path, 0)))

    def _entry_count(self, path: KeyPath) -> str:
        entries = value_at(self._document, path)
        given = len(entries) if isinstance(entries, list) else 0
        nodes = self._vocabulary.nodes(self._document, path)
        wanted = max((len(node.get("prefixItems", ())) for node in nodes), default=0)
        example = self._vocabulary.example(self._document, path)
        return f"has {given} of {wanted} entries" + (f"; write a list such as {example}" if example else "")

    def _forms(self, path: KeyPath) -> str:
        forms = (_form(node) for node in self._vocabulary.nodes(self._document, path))
        return " or ".join(dict.fromkeys(form for form in forms if form))

    def _tag(self, entry: _Entry) -> Fault:
        """Return the fault of a table whose form is not told, or told wrong."""
        key = str(entry.error["ctx"]["discriminator"]).strip("'")
        table = entry.value if isinstance(entry.value, dict) else {}
        kinds = self._vocabulary.tags(self._document, entry.path, key)
        if key not in table:
            near = closest(key, set(table) - {"kind"})
            if near is not None:
                return Fault((*entry.path, near), f"unknown key; did you mean '{key}'?")
            return Fault((*entry.path, key), f"is missing; write {key} = {' or '.join(map(shown, kinds))}")
        near = closest(str(table[key]), kinds)
        hint = f"did you mean '{near}'? " if near else ""
        return Fault((*entry.path, key), f"is {shown(table[key])}; {hint}allowed: {', '.join(kinds)}")


def _form(node: Mapping[str, Any]) -> str | None:
    if "const" in node or "enum" in node:
        return " or ".join(map(shown, node.get("enum", [node.get("const")])))
    if node.get("format") == "path":
        return EXPECTED["path_type"]
    return _FORMS.get(str(node.get("type")))


_FORMS = {
    "string": EXPECTED["string_type"],
    "number": EXPECTED["float_type"],
    "integer": EXPECTED["int_type"],
    "boolean": EXPECTED["bool_type"],
    "object": EXPECTED["dict_type"],
    "array": EXPECTED["list_type"],
}
