"""One plain sentence for each kind of validation error: what is wrong and what would be right."""

import json
from collections.abc import Callable, Mapping
from typing import Any

EXPECTED: Mapping[str, str] = {
    "string_type": "text in quotes",
    "float_type": "a number",
    "float_parsing": "a number",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "model_type": "a table { … }",
    "model_attributes_type": "a table { … }",
    "dict_type": "a table { … }",
    "tuple_type": "a list [ … ]",
    "list_type": "a list [ … ]",
    "path_type": "a file name in quotes",
}
"""What was expected, for the error types that say no more than that the type is wrong."""

Context = Mapping[str, Any]


def shown(value: object) -> str:
    """Return a value of a document as a message shows it."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return json.dumps(value if len(value) <= 60 else value[:59] + "…", ensure_ascii=False)
    return json.dumps(value) if isinstance(value, bool) else str(value)


def _bound(words: str, key: str) -> Callable[[object, Context], str]:
    return lambda value, context: f"is {shown(value)}; it must be {words} {context[key]:g}"


def _entries(value: object, context: Context) -> str:
    wanted = context.get("min_length", context.get("max_length"))
    bound = "at least" if "min_length" in context else "at most"
    given = context.get("actual_length")
    return f"has {given} {'entry' if given == 1 else 'entries'}; it needs {bound} {wanted}"


def _name(value: object, context: Context) -> str:
    return (
        f"{shown(value)} cannot be a name; use letters, digits, spaces and . + - _, "
        "begin with a letter or digit, at most 60 in all"
    )


_SENTENCES: Mapping[str, Callable[[object, Context], str]] = {
    "greater_than": _bound("above", "gt"),
    "greater_than_equal": _bound("at least", "ge"),
    "less_than": _bound("below", "lt"),
    "less_than_equal": _bound("at most", "le"),
    "finite_number": lambda value, context: f"is {shown(value)}; write a finite number",
    "literal_error": lambda value, context: f"is {shown(value)}; allowed: {context['expected']}",
    "too_short": _entries,
    "too_long": _entries,
    "string_too_short": _name,
    "string_too_long": _name,
    "string_pattern_mismatch": _name,
    "union_tag_invalid": lambda value, context: f"is {shown(value)}; allowed: {context['expected_tags']}",
}


def sentence(error: Mapping[str, Any], value: object) -> str:
    """Return the message for a validation error.

    Parameters
    ----------
    error : mapping
        An entry of ``ValidationError.errors()``.
    value : object
        What the document holds at that place.
    """
    kind = str(error["type"])
    if kind in EXPECTED:
        return f"is {shown(value)}; write {EXPECTED[kind]}"
    if kind in _SENTENCES:
        return _SENTENCES[kind](value, error.get("ctx", {}))
    message = str(error["msg"]).removeprefix("Value error, ")
    return message if message.startswith("is ") or kind == "value_error" else f"{message}, not {shown(value)}"
