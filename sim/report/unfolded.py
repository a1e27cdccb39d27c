"""The six walls of a box laid out as an unfolded box: floor in the middle, as if the walls fell outwards."""

from collections.abc import Sequence

from sim.report.map_figure import GAP, Sheet, Spot
from sim.report.panels import Panel

WALLS = ("floor", "ceiling", "front", "back", "left", "right")
_PLANE = {name: ("x", "y") for name in ("floor", "ceiling")}
_PLANE |= {name: ("x", "z") for name in ("front", "back")}
_PLANE |= {name: ("y", "z") for name in ("left", "right")}


def box_walls(panels: Sequence[Panel]) -> dict[str, Panel] | None:
    """Return the six walls by name, or None where the panels are not those of a box."""
    walls = {panel.name: panel for panel in panels if panel.name in WALLS}
    if any(name not in walls or walls[name].axes != _PLANE[name] for name in WALLS):
        return None
    return walls


def unfolded_sheet(walls: dict[str, Panel], width: float) -> Sheet:
    """Return the walls laid out: ceiling over back over floor over front, left and right beside the floor.

    Parameters
    ----------
    walls : dict of str to Panel
        See `box_walls`.
    width : float [in]
    """
    left, right = walls["left"].transposed(), walls["right"].transposed()
    floor, back, front, ceiling = (walls[name] for name in ("floor", "back", "front", "ceiling"))
    across = left.size[0] + floor.size[0] + right.size[0]
    scale = (width - 3 * GAP[0]) / across
    column = GAP[0] + left.size[0] * scale + GAP[0]
    beyond = column + floor.size[0] * scale + GAP[0]
    bottom = GAP[1] - 0.2
    rows = [bottom]
    for panel in (front, floor, back):
        rows.append(rows[-1] + panel.size[1] * scale + GAP[1])
    spots = (
        Spot(ceiling, column, rows[3], backwards_up=True),
        Spot(back, column, rows[2]),
        Spot(left, GAP[0], rows[1], backwards_across=True),
        Spot(floor, column, rows[1]),
        Spot(right, beyond, rows[1]),
        Spot(front, column, rows[0], backwards_up=True),
    )
    return Sheet(spots, width, rows[3] + ceiling.size[1] * scale + 0.25, scale)
