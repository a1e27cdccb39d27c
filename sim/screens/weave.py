"""What passes straight between two crossed layers of round wires."""

import numpy as np

from sim.geometry.mesh import FloatArray


def direct_transmittance(fill: tuple[float, float], direction: FloatArray) -> FloatArray:
    """Return the share of light that passes between the wires, by direction.

    Parameters
    ----------
    fill : (float, float)
        Wire diameter over pitch, wires along x and wires along y.
    direction : (..., 3) float
        Unit vectors in the screen's frame: x along the first wires, z normal to the screen.

    Notes
    -----
    A round wire shades its diameter across any direction perpendicular to it, so seen from (sx, sy, sz) wires along
    x take ``d/p sqrt(sy^2 + sz^2) / |sz|`` of the plane; the two layers are taken as independent. This is the
    geometry on which window-screen models of building physics rest (N. Kotey, J. Wright, M. Collins, ASHRAE Trans.
    115(1), 2009). At normal incidence it is the open area ``(1 - d/p)^2`` of ASTM E2016.
    """
    s = np.asarray(direction, dtype=np.float64)
    depth = np.maximum(np.abs(s[..., 2]), 1e-12)
    along_x = 1.0 - fill[0] * np.hypot(s[..., 1], s[..., 2]) / depth
    along_y = 1.0 - fill[1] * np.hypot(s[..., 0], s[..., 2]) / depth
    return np.clip(along_x, 0.0, None) * np.clip(along_y, 0.0, None)
