"""Cutting a model open: what stands between the eye and a plane across an axis is taken away."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import pyvista as pv

from viewer.cameras import Camera
from viewer.layers import Layer


@dataclass(frozen=True)
class Cut:
    """A plane across an axis, 0 to 2, at a place along it [m]."""

    axis: int
    at: float

    @property
    def words(self) -> str:
        """Where it is."""
        return f"cut open at {'xyz'[self.axis]} = {100.0 * self.at:.4g} cm"

    @property
    def normal(self) -> tuple[float, float, float]:
        """Unit vector along the axis."""
        x, y, z = np.eye(3)[self.axis]
        return float(x), float(y), float(z)

    @property
    def origin(self) -> tuple[float, float, float]:
        """A point of the plane [m]."""
        x, y, z = self.at * np.eye(3)[self.axis]
        return float(x), float(y), float(z)


def cut_open(shown: Iterable[Layer], cut: Cut, camera: Camera) -> tuple[tuple[Layer, ...], pv.PolyData]:
    """Return the layers behind a plane as seen from a camera, and the lines where the plane meets what it cuts.

    Parameters
    ----------
    shown : iterable of Layer
    cut : Cut
    camera : Camera

    Raises
    ------
    ValueError
        If the plane misses them all: nothing would be cut, or nothing left.
    """
    shown = tuple(shown)
    ends = [layer.mesh.bounds[2 * cut.axis : 2 * cut.axis + 2] for layer in shown]
    low, high = min(low for low, _ in ends), max(high for _, high in ends)
    if not low <= cut.at <= high:
        raise ValueError(
            f"the model lies between {'xyz'[cut.axis]} = {100.0 * low:.4g} and {100.0 * high:.4g} cm and cannot be "
            f"{cut.words}; name a plane that meets it"
        )
    # `invert` keeps the side that the normal points away from.
    invert = bool(camera.eye[cut.axis] > cut.at)
    kept, lines = [], []
    for layer in shown:
        low, high = layer.mesh.bounds[2 * cut.axis : 2 * cut.axis + 2]
        if high < cut.at or low > cut.at:
            kept += [layer] if (high < cut.at) == invert else []
            continue
        mesh = layer.mesh.clip(normal=cut.normal, origin=cut.origin, invert=invert)
        line = layer.mesh.slice(normal=cut.normal, origin=cut.origin)
        lines += [line] if line.n_cells and layer.role not in ("screen", "cover") else []
        if mesh.n_cells:
            kept.append(replace(layer, mesh=mesh))
    return tuple(kept), pv.merge(lines) if lines else pv.PolyData()
