"""Sensors that lie on the walls of a box."""

WALLS = {
    "floor": ((0, 0, 0), (1, 0, 0), (0, 1, 0)),
    "ceiling": ((0, 0, 1), (0, 1, 0), (1, 0, 0)),
    "front": ((0, 0, 0), (0, 0, 1), (1, 0, 0)),
    "back": ((0, 1, 0), (1, 0, 0), (0, 0, 1)),
    "left": ((0, 0, 0), (0, 1, 0), (0, 0, 1)),
    "right": ((1, 0, 0), (0, 0, 1), (0, 1, 0)),
}
"""Corner and edges, in parts of the box, of a plane that lies on each wall and faces inwards."""


def wall_planes(size: tuple[float, float, float], walls: dict[str, tuple[tuple[int, ...], ...]] = WALLS) -> str:
    """Sensors of the scene file on all walls of a box."""
    lines = []
    for name, parts in walls.items():
        lines += ["[[sensors]]", f'name = "on {name}"', 'kind = "plane"']
        for key, part in zip(("corner", "edge_u", "edge_v"), parts, strict=True):
            row = ", ".join(f'"{100.0 * share * length:g} cm"' for share, length in zip(part, size, strict=True))
            lines.append(f"{key} = [{row}]")
    return "\n".join(lines) + "\n"
