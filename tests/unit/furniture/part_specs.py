"""Parts from the keys of a scene file, and their surfaces put together."""

from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from sim.furniture.part import Part
from sim.geometry.closed import merged
from sim.geometry.mesh import Mesh, joined
from sim.materials.surface import Surface

ANY_PART: TypeAdapter[Part] = TypeAdapter(Part)


def part(keys: dict[str, Any], folder: Path | None = None) -> Part:
    """Return a part as a scene in a folder would hold it; name and law are filled in."""
    return ANY_PART.validate_python({"name": "thing", "law": "rock", **keys}, context={"folder": str(folder or ".")})


def body(surfaces: list[Surface]) -> Mesh:
    """Return all triangles as one mesh, corners within a tenth of a nanometre of each other made one."""
    return merged(joined([surface.mesh for surface in surfaces]), step=1e-10)
