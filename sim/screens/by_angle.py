"""What becomes of light at a screen, by its angle: for tables and figures."""

from dataclasses import dataclass

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.screens.weave import direct_transmittance
from sim.screens.wires import scattered_shares


@dataclass(frozen=True)
class ByAngle:
    """Shares of the light that arrives, (n,) each; what they leave of 1 the wires absorb.

    Attributes
    ----------
    straight, on, back : (n,) float
        Between the wires, off wires to the far side, off wires to the side of arrival.
    """

    straight: FloatArray
    on: FloatArray
    back: FloatArray


def shares_by_angle(fill: tuple[float, float], reflectance: float, polar: FloatArray, azimuth: float) -> ByAngle:
    """Return what becomes of light at angles to the normal.

    Parameters
    ----------
    fill : (float, float)
        Wire diameter over pitch of the first and the second wires.
    reflectance : float
        Of the wires.
    polar : (n,) float [rad]
        From the normal.
    azimuth : float [rad]
        In the screen, from the direction of the first wires.
    """
    sine = np.sin(polar)
    directions = np.stack([sine * np.cos(azimuth), sine * np.sin(azimuth), np.cos(polar)], axis=-1)
    back, on = scattered_shares(fill, reflectance, directions)
    return ByAngle(direct_transmittance(fill, directions), on, back)


def angle_table(fill: tuple[float, float], reflectance: float) -> list[str]:
    """Return lines of a table by angle, for light along the first wires and between both sets."""
    degrees = np.array([0.0, 15.0, 30.0, 45.0, 60.0, 75.0])
    lines = [
        f"wires return {reflectance:.2f} at 310 nm; light along the first wires | between both sets",
        f"{'degrees':>8} " + " | ".join([f"{'straight':>9} {'off wires':>9} {'back':>7}"] * 2),
    ]
    sides = [shares_by_angle(fill, reflectance, np.radians(degrees), azimuth) for azimuth in (0.0, 0.25 * np.pi)]
    for row, angle in enumerate(degrees):
        cells = [f"{side.straight[row]:9.4f} {side.on[row]:9.4f} {side.back[row]:7.4f}" for side in sides]
        lines.append(f"{angle:8.0f} " + " | ".join(cells))
    return lines
