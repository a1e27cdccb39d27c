"""Reading a Markdown page: its sections, tables and fenced blocks."""

import re
from dataclasses import dataclass, field


@dataclass
class Section:
    """A heading with its own text, up to the next heading of any level, and the headings that it stands under."""

    title: str
    level: int
    above: tuple["Section", ...] = ()
    lines: list[str] = field(default_factory=list)

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """The rows of its tables, cells stripped, without headings and rules."""
        tables = [line.strip() for line in self.lines if line.startswith("|")]
        rules = [index for index, line in enumerate(tables) if re.fullmatch(r"[| -]+", line)]
        skipped = {*rules, *(index - 1 for index in rules)}
        kept = (line for index, line in enumerate(tables) if index not in skipped)
        return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in kept]


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, its text, and the section that it stands in."""

    language: str
    text: str
    section: str
    line: int


def parse(page: str) -> tuple[list[Section], list[Block]]:
    """Return the sections and the fenced blocks of a page; what is fenced belongs to no section's lines."""
    sections = [Section("", 0)]
    blocks: list[Block] = []
    fenced: list[str] | None = None
    language, start = "", 0
    for number, line in enumerate(page.splitlines(), 1):
        heading = re.match(r"(#+) (.+)", line)
        if line.startswith("```"):
            if fenced is None:
                fenced, language, start = [], line[3:].strip(), number
            else:
                blocks.append(Block(language, "\n".join(fenced) + "\n", sections[-1].title, start))
                fenced = None
        elif fenced is not None:
            fenced.append(line)
        elif heading:
            level = len(heading[1])
            chain = (*sections[-1].above, sections[-1])
            above = tuple(section for section in chain if 0 < section.level < level)
            sections.append(Section(heading[2], level, above))
        else:
            sections[-1].lines.append(line)
    return sections, blocks
