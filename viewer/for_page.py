"""``python -m viewer.for_page``: the pictures of a page, by a program that is started before there is a result.

To load what draws takes as long as to draw. So this program is started first, loads it while something else is done,
and then waits for one line on stdin: a `Request` as JSON. The pictures go to stdout, in one line when all are
drawn: a list of PNG files in base64, as JSON. Where no request comes it ends.
"""

import gc
import json
import os
import sys
from base64 import b64encode
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from sim.report.without_manual import without_manual

if TYPE_CHECKING:
    import pyvista as pv

    from viewer.cameras import View


class Asked(TypedDict):
    """A picture: from where it is taken, and axis and place [m] of a cut, if there is one."""

    camera: "View"
    cut: tuple[int, float] | None


class Request(TypedDict):
    """A result's file, the size of all pictures [px], and the pictures."""

    result: str
    size: tuple[int, int]
    pictures: list[Asked]


def draw(request: Request, plotter: "pv.Plotter") -> list[bytes]:
    """Return the pictures of a request as PNG files, drawn with a plotter."""
    from sim.analysis.selection import Selection
    from sim.tally.result import load_result
    from viewer.cutting import Cut
    from viewer.snapshot import pictures
    from viewer.stage import Look

    shown = Selection(load_result(Path(request["result"])))
    width, height = request["size"]
    looks = [
        Look(asked["camera"], None if asked["cut"] is None else Cut(*asked["cut"])) for asked in request["pictures"]
    ]
    return pictures(shown, looks, (width, height), plotter)


def main() -> None:
    """Get ready, wait for a request, and draw it."""
    # To look for garbage among all that importing makes takes a fifth of its time.
    gc.set_threshold(500_000, 50, 50)
    without_manual()
    from viewer.snapshot import warm_up

    answer = os.fdopen(os.dup(1), "w", encoding="ascii")
    os.dup2(2, 1)  # what a graphics driver says stands in no answer
    plotter = warm_up()
    line = sys.stdin.readline()
    if line:
        drawn = draw(json.loads(line), plotter)
        json.dump([b64encode(png).decode("ascii") for png in drawn], answer)
    answer.close()
    gc.freeze()  # the page waits for the end of this program, too


if __name__ == "__main__":
    main()
