"""What a law hands to the compiler: its parts by wavelength, all in one form.

Every law is a sum of a few kinds of scattering. A new law that is another mixture of them touches no kernel.
"""

from dataclasses import dataclass, field

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.screens.wires import scattered_shares

ANGLE_NODES = 257
"""Nodes of tables by angle, uniform in |cos| from 0 (grazing) to 1 (normal)."""


def angle_nodes() -> FloatArray:
    """Return the |cos| of the nodes of every table by angle, (ANGLE_NODES,)."""
    return np.linspace(0.0, 1.0, ANGLE_NODES)


@dataclass(frozen=True)
class Components:
    """Scattering parts of a law at given wavelengths; what they leave of 1 is absorbed.

    Attributes
    ----------
    diffuse_reflectance, diffuse_transmittance : (w,) float
        Lambertian on the side of arrival, and on the far side.
    lobe_reflectance : (w,) float
        Reflectance of a rough mirror, light that several of its facets return included.
    roughness : float
        GGX width parameter alpha of that lobe.
    specular : (w, ANGLE_NODES, 2) float, optional
        Mirror reflectance and straight transmittance by angle.
    fill : (float, float), optional
        Wire diameter over pitch of a woven screen, wires along the tangent and across it.
    wire_reflectance, wire_remainder : (w,) float
        Of a screen's wires, and the share that gets out in the end of light that they catch twice.
    """

    diffuse_reflectance: FloatArray
    diffuse_transmittance: FloatArray
    lobe_reflectance: FloatArray
    wire_reflectance: FloatArray
    wire_remainder: FloatArray
    roughness: float = 0.0
    specular: FloatArray | None = None
    fill: tuple[float, float] | None = None
    wavelength_breaks: tuple[float, ...] = field(default=())

    def at_normal(self) -> tuple[FloatArray, FloatArray]:
        """Return what is returned and what passes of light along the normal, (w,) each."""
        returned = self.diffuse_reflectance + self.lobe_reflectance
        passed = self.diffuse_transmittance
        if self.specular is not None:
            returned, passed = returned + self.specular[:, -1, 0], passed + self.specular[:, -1, 1]
        if self.fill is not None:
            back, on = scattered_shares(self.fill, self.wire_reflectance, np.array([[0.0, 0.0, 1.0]]))
            returned, passed = returned + back, passed + on + (1.0 - self.fill[0]) * (1.0 - self.fill[1])
        return returned, passed


def components(wavelength_nm: FloatArray, **parts: object) -> Components:
    """Return components with every part that is not given at zero."""
    zero = np.zeros_like(wavelength_nm)
    base: dict[str, object] = {
        "diffuse_reflectance": zero,
        "diffuse_transmittance": zero,
        "lobe_reflectance": zero,
        "wire_reflectance": zero,
        "wire_remainder": zero,
    }
    return Components(**(base | parts))  # type: ignore[arg-type]  # names are checked by the dataclass itself
