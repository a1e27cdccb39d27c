"""Text for a terminal: prose and tables of manual pages no wider than it is."""

import re
import shutil
from collections.abc import Iterator
from textwrap import wrap

WIDEST, NARROWEST = 120, 40
"""Lines of prose stay readable up to here; below that a table has no room [letters]."""
LEAST_COLUMN = 16
_RULE = re.compile(r"=+(?: +=+)+")


def terminal_width() -> int:
    """Return how wide lines may be: as the terminal, or 80 where there is none."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((80, 24)).columns))


def filled(text: str, width: int, hang: int = 0) -> str:
    """Return one line as several, those after the first indented by `hang`."""
    pieces = wrap(text, width, subsequent_indent=" " * hang, break_long_words=False, break_on_hyphens=False)
    return "\n".join(pieces) or text


def manual(text: str, width: int) -> str:
    """Return a manual page with its paragraphs and tables fitted to a width; examples stay as they are."""
    return "\n".join(piece for block in _blocks(text.splitlines()) for piece in _fitted(block, width))


def _blocks(lines: list[str]) -> Iterator[list[str]]:
    """Yield paragraphs, whole tables, and every other line by itself."""
    block: list[str] = []
    for number, line in enumerate(lines):
        table = bool(block) and _RULE.fullmatch(block[0]) is not None
        if table and len([row for row in block if _RULE.fullmatch(row)]) < 3:
            block.append(line)
            continue
        starts = _RULE.fullmatch(line) is not None
        heading = number + 1 < len(lines) and re.fullmatch(r"-+", lines[number + 1]) is not None
        prose = bool(line) and not line[0].isspace() and not heading and re.fullmatch(r"-+", line) is None
        if block and (table or starts or not prose):
            yield block
            block = []
        if starts or prose:
            block.append(line)
        else:
            yield [line]
    if block:
        yield block


def _fitted(block: list[str], width: int) -> list[str]:
    if _RULE.fullmatch(block[0]):
        return _table(block, width)
    if len(block) == 1 and (not block[0] or block[0][0].isspace()):
        return block
    return filled(" ".join(block), width).splitlines()


def _table(lines: list[str], width: int) -> list[str]:
    """Return a table with its widest columns narrowed until it fits, cells of several lines."""
    starts = [match.start() for match in re.finditer("=+", lines[0])]
    ends = [*(start - 1 for start in starts[1:]), None]
    rows: list[list[str]] = []
    for line in lines:
        if _RULE.fullmatch(line):
            continue
        cells = [line[start:end].strip() for start, end in zip(starts, ends, strict=True)]
        if cells[0]:
            rows.append(cells)
        else:
            rows[-1] = [f"{whole} {more}".strip() for whole, more in zip(rows[-1], cells, strict=True)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(starts))]
    before = [len(run) for run in lines[0].split()]
    widths = [min(pair) for pair in zip(widths, before, strict=True)]
    while sum(widths) + 2 * len(widths) - 2 > width and max(widths) > LEAST_COLUMN:
        widths[widths.index(max(widths))] -= 1
    rule = "  ".join("=" * one for one in widths)
    told = [_row(row, widths) for row in rows]
    return [rule, *told[0], rule, *(line for row in told[1:] for line in row), rule]


def _row(cells: list[str], widths: list[int]) -> list[str]:
    columns = [wrap(cell, one, break_on_hyphens=False) or [""] for cell, one in zip(cells, widths, strict=True)]
    height = max(len(column) for column in columns)
    padded = [column + [""] * (height - len(column)) for column in columns]
    lines = zip(*padded, strict=True)
    return ["  ".join(part.ljust(one) for part, one in zip(line, widths, strict=True)).rstrip() for line in lines]
