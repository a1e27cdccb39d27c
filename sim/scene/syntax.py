"""Reading TOML, and saying in plain words why a file is none."""

import re
import tomllib
from pathlib import Path
from typing import Any

from sim.scene.fault import SceneError, key_text
from sim.scene.position import Positions, find_positions

_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|(end of document))\)$")
_KEY = re.compile(r"\s*([\w-]+(?:\.[\w-]+)*)\s*=")
_UNQUOTED = re.compile(r"(?:^|[={,])\s*[\w.\"'-]+\s*=\s*(?P<value>[^\s\"'\[{#][^\"'\[\]{}#,]*)")
_SIMPLE = re.compile(
    r"true|false|[+-]?(?:inf|nan|[\d_]+(?:\.[\d_]+)?(?:[eE][+-]?\d+)?|0[xob][\da-fA-F_]+)|[\d:TZ. +-]{8,}"
)


def parse(path: Path) -> tuple[dict[str, Any], Positions]:
    """Return the tables of a TOML file and where its keys stand.

    Raises
    ------
    SceneError
        With one line that names the file, the line and the column.
    """
    return parse_text(path, _read(path))


def parse_text(path: Path, text: str) -> tuple[dict[str, Any], Positions]:
    """Return the tables of a TOML text and where its keys stand; messages name the path.

    Raises
    ------
    SceneError
        As `parse` does.
    """
    positions = find_positions(text)
    try:
        return tomllib.loads(text), positions
    except tomllib.TOMLDecodeError as error:
        raise SceneError([_syntax_line(path, text, str(error), positions)]) from None
    except RecursionError:
        raise SceneError(
            [f"{path}: tables or lists are nested too deep; no scene needs more than ten levels"]
        ) from None


def _read(path: Path) -> str:
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise SceneError([f"{path}: no such file; give the path of a scene file (.toml)"]) from None
    except IsADirectoryError:
        raise SceneError([f"{path}: is a folder; give the path of a scene file (.toml) in it"]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SceneError([f"{path}: cannot be read ({reason}); give the path of a readable scene file"]) from None
    try:
        # TOML 1.0 does not know a byte order mark, but editors write it.
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if b"\0" in raw:
            raise SceneError([f"{path}: is no text; give the path of a scene file (.toml)"]) from None
        line = raw.count(b"\n", 0, error.start) + 1
        message = f"byte 0x{raw[error.start]:02x} is not UTF-8; save the file as UTF-8"
        raise SceneError([f"{path}:{line}: {message}"]) from None


def _syntax_line(path: Path, text: str, message: str, positions: Positions) -> str:
    lines = text.split("\n")
    match = _PLACE.search(message)
    what = message[: match.start()] if match else message
    number, column = (int(match[1]), int(match[2])) if match and match[1] else (len(lines), len(lines[-1]) + 1)
    repeat = next((place for place in positions.repeats if place[2] <= number), None)
    if repeat is not None:
        keys, first, second = repeat
        return f"{path}:{second}: {key_text(keys)}: is given twice, first in line {first}; keep one of the two"
    line = lines[number - 1]
    key = _KEY.match(line)
    place = f"{path}:{number}: {key[1]}: " if key else f"{path}:{number}: "
    return f"{place}not TOML at column {column}: {what[:1].lower()}{what[1:]}{_hint(line, number == len(lines))}"


def _hint(line: str, is_last: bool) -> str:
    """Return what is most likely wanted on a line that is no TOML."""
    if is_last and not line.strip():
        return "; a bracket or a quote that was opened above is not closed"
    if re.search("[“”„‟]", line):
        return '; text goes in straight quotes, "…"'
    match = _UNQUOTED.search(line)
    if match and not _SIMPLE.fullmatch(match["value"].strip()):
        return f'; text goes in quotes: "{match["value"].strip()}"'
    if line.count('"') % 2:
        return "; a quote is missing on this line"
    opened = re.match(r"\s*(\[+)[^\]=]*(\]*)", line)
    if opened and len(opened[1]) != len(opened[2]):
        return "; a table is [name], an entry of a list of tables is [[name]]"
    return "; write one key = value a line"
