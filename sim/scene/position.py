"""Where each key of a TOML text stands: the line numbers that messages name."""

from dataclasses import dataclass, field

KeyPath = tuple[str | int, ...]
"""A place in a document: keys of tables and indices of arrays, such as ``("lamps", 0, "radius")``."""

_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}
_BARE_ENDS = set(" \t\r\n.=[]{},#\"'")


@dataclass
class Positions:
    """Lines of the keys of a document.

    Attributes
    ----------
    lines : dict of KeyPath to int
        Line, counted from 1, on which each key, table or array entry begins.
    repeats : list of (KeyPath, int, int)
        Keys and tables that are given twice, with the two lines.
    """

    lines: dict[KeyPath, int] = field(default_factory=dict)
    repeats: list[tuple[KeyPath, int, int]] = field(default_factory=list)

    def line_of(self, path: KeyPath) -> int | None:
        """Return the line of a key, or of the innermost table around it that the text shows."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None


def value_at(document: object, path: KeyPath) -> object:
    """Return what stands at a path of a document; None where there is nothing."""
    value = document
    for key in path:
        if isinstance(value, dict):
            value = value.get(key)
        elif isinstance(value, list | tuple) and isinstance(key, int) and key < len(value):
            value = value[key]
        else:
            return None
    return value


def find_positions(text: str) -> Positions:
    """Return the lines of all keys of a TOML text.

    The text is scanned without judging it: what is no TOML ends the scan, and what was found until then is kept.
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    try:
        scanner.document()
    except (IndexError, ValueError, RecursionError):
        pass
    return scanner.found


class _Scanner:
    """One pass over the text; `at` is the index of the next character."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.found = Positions()
        self._table: KeyPath = ()
        self._array_lengths: dict[KeyPath, int] = {}
        self._assigned: dict[KeyPath, int] = {}

    def document(self) -> None:
        while True:
            self._skip_blank()
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                self._header()
            else:
                self._assignment(self._table)

    def _step(self, count: int = 1) -> None:
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count

    def _skip_spaces(self) -> None:
        while self.text[self.at : self.at + 1] in (" ", "\t"):
            self.at += 1

    def _skip_blank(self) -> None:
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                self._skip_comment()
            elif self.text[self.at] in " \t\r\n":
                self._step()
            else:
                return

    def _skip_comment(self) -> None:
        end = self.text.find("\n", self.at)
        self.at = len(self.text) if end < 0 else end

    def _expect(self, token: str) -> None:
        if not self.text.startswith(token, self.at):
            raise ValueError(f"no {token!r} here")
        self.at += len(token)

    def _header(self) -> None:
        line = self.line
        is_array = self.text.startswith("[[", self.at)
        self._expect("[[" if is_array else "[")
        keys = self._dotted_key()
        self._expect("]]" if is_array else "]")
        path = (*self._inside(keys[:-1]), keys[-1])
        self._note(path, line)
        if is_array:
            index = self._array_lengths.get(path, 0)
            self._array_lengths[path] = index + 1
            path += (index,)
            self._note(path, line)
        else:
            path = self._inside_last(path)
            self._note_once(path, line)
        self._table = path

    def _inside(self, keys: list[str]) -> KeyPath:
        """Return the path of the table that a header's outer keys lead to: the last entry of each array."""
        path: KeyPath = ()
        for key in keys:
            path = self._inside_last((*path, key))
            self.found.lines.setdefault(path, self.line)
        return path

    def _inside_last(self, path: KeyPath) -> KeyPath:
        return (*path, self._array_lengths[path] - 1) if path in self._array_lengths else path

    def _assignment(self, table: KeyPath) -> None:
        line = self.line
        path = table
        keys = self._dotted_key()
        for key in keys:
            path = (*path, key)
            self._note(path, line)
        self._note_once(path, line)
        self._expect("=")
        self._skip_spaces()
        self._value(path)

    def _note(self, path: KeyPath, line: int) -> None:
        self.found.lines.setdefault(path, line)

    def _note_once(self, path: KeyPath, line: int) -> None:
        if path in self._assigned:
            self.found.repeats.append((path, self._assigned[path], line))
        self._assigned.setdefault(path, line)

    def _dotted_key(self) -> list[str]:
        keys = []
        while True:
            self._skip_spaces()
            keys.append(self._string() if self.text[self.at] in "\"'" else self._bare())
            self._skip_spaces()
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def _bare(self) -> str:
        start = self.at
        while self.at < len(self.text) and self.text[self.at] not in _BARE_ENDS:
            self.at += 1
        if self.at == start:
            raise ValueError("no key here")
        return self.text[start : self.at]

    def _value(self, path: KeyPath) -> None:
        first = self.text[self.at]
        if first == "[":
            self._array(path)
        elif first == "{":
            self._inline_table(path)
        elif first in "\"'":
            self._string()
        else:
            self._scalar()

    def _scalar(self) -> None:
        start = self.at
        while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
            self.at += 1
        if self.at == start:
            raise ValueError("no value here")

    def _array(self, path: KeyPath) -> None:
        self._expect("[")
        index = 0
        while True:
            self._skip_blank()
            if self.text[self.at] == "]":
                self.at += 1
                return
            self._note((*path, index), self.line)
            self._value((*path, index))
            index += 1
            self._skip_blank()
            if self.text[self.at] == ",":
                self.at += 1

    def _inline_table(self, path: KeyPath) -> None:
        self._expect("{")
        while True:
            self._skip_blank()
            if self.text[self.at] == "}":
                self.at += 1
                return
            self._assignment(path)
            self._skip_blank()
            if self.text[self.at] == ",":
                self.at += 1

    def _string(self) -> str:
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.at += len(mark)
        letters: list[str] = []
        while not self.text.startswith(mark, self.at):
            if quote == '"' and self.text[self.at] == "\\":
                letters.append(self._escape())
            else:
                letters.append(self.text[self.at])
                self._step()
        self.at += len(mark)
        # A multi-line string may end in one or two quotes of its own before the mark.
        while len(mark) == 3 and self.text[self.at : self.at + 1] == quote:
            self.at += 1
        return "".join(letters)

    def _escape(self) -> str:
        letter = self.text[self.at + 1]
        if letter in "uU":
            digits = 4 if letter == "u" else 8
            code = self.text[self.at + 2 : self.at + 2 + digits]
            self.at += 2 + digits
            return chr(int(code, 16))
        self._step(2)
        return _ESCAPES.get(letter, "")
