"""What a surface does with light: one class a law, each the manual page of itself.

A new law that mixes the parts of `Components` is one class here and its place in `Law`; nothing else changes.
"""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from sim.geometry.mesh import FloatArray
from sim.materials.components import Components, angle_nodes, components
from sim.materials.curve import ClearIndex, Constant, Fraction, MetalIndex, Reflectance, curve_at, curve_breaks
from sim.materials.fresnel import metal_reflectance, sheet_reflectance_transmittance
from sim.materials.screen import Screen
from sim.screens.wires import wire_tables
from sim.spec import Spec
from sim.units import Length


class Black(Spec):
    """Absorbs all light.

    Example::

        [laws.felt]
        kind = "black"
    """

    kind: Literal["black"]


class Lambertian(Spec):
    """A matt surface: reflects by the cosine law, whatever the direction of arrival.

    ============  =======================================================  ==========
    key           meaning                                                  unit
    ============  =======================================================  ==========
    reflectance   share of light returned; a number or a table             0 to 1
    ============  =======================================================  ==========

    Example::

        [laws.sand]
        kind = "lambertian"
        reflectance = { wavelength = ["300 nm", "400 nm"], value = [0.14, 0.24] }
    """

    kind: Literal["lambertian"]
    reflectance: Reflectance


class Mirror(Spec):
    """A smooth mirror with one reflectance for all angles.

    Example::

        [laws.polished]
        kind = "mirror"
        reflectance = 0.9
    """

    kind: Literal["mirror"]
    reflectance: Reflectance


class Glossy(Spec):
    """A mixture of a rough mirror and a matt surface.

    ==============  ===============================================================  ========
    key             meaning                                                          unit
    ==============  ===============================================================  ========
    reflectance     share of light returned, whatever its direction                  0 to 1
    specular_share  part of it in the lobe around the mirror direction               0 to 1
    roughness       width of the lobe (alpha): 0 a mirror, 0.1 satin, 0.5 very rough 0 to 1
    ==============  ===============================================================  ========

    Example::

        [laws.anodised]
        kind = "glossy"
        reflectance = 0.85
        specular_share = 0.8
        roughness = 0.1

    Notes
    -----
    As of a mirror and of a matt surface, the reflectance is the total one (as measured with an integrating sphere), and
    the same for light from all directions, whatever the roughness. A table by wavelength is that, too: what light
    gains in colour between facets is in it.

    The lobe is the GGX microfacet distribution with Smith shadowing (B. Walter et al., Microfacet models for
    refraction through rough surfaces, EGSR 2007). Light that a facet sends to other facets leaves in a wide lobe of its
    own (C. Kulla, A. Conty, Revisiting physically based shading at Imageworks, SIGGRAPH 2017): of matt light 3 % of
    what the whole lobe returns at roughness 0.1, 8 % at 0.2, 15 % at 0.3, 23 % at 0.4 and 30 % at 0.5. That is right
    for facets that absorb little. Those of a total of 0.65 send 10 % there at roughness 0.3 where the law has 15 %, and
    22 % at 0.5 where it has 30 %; the total stays what it is.
    """

    kind: Literal["glossy"]
    reflectance: Reflectance
    specular_share: Fraction
    roughness: Fraction


class Metal(Spec):
    """A smooth metal by its optical constants: Fresnel reflection by angle and wavelength.

    Example::

        [laws.aluminium]
        kind = "metal"
        n = { wavelength = ["300 nm", "320 nm"], value = [0.264, 0.301] }
        k = { wavelength = ["300 nm", "320 nm"], value = [3.579, 3.836] }
    """

    kind: Literal["metal"]
    n: MetalIndex
    k: Constant


class Sheet(Spec):
    """A clear plane sheet in air, such as window glass: reflects, absorbs and passes light straight.

    The sheet is drawn as a surface without thickness; the ray leaves where it entered, which shifts it by less
    than the thickness.

    Example::

        [laws.pane]
        kind = "sheet"
        n = 1.53
        k = 1e-6
        thickness = "4 mm"
    """

    kind: Literal["sheet"]
    n: Annotated[ClearIndex, Field(description="refractive index, 1 or above")]
    k: Constant
    thickness: Length


class Leaf(Spec):
    """A thin diffuse sheet: returns and passes light by the cosine law, the same from both sides.

    Example::

        [laws.leaf]
        kind = "leaf"
        reflectance = 0.066
        transmittance = 0.001
    """

    kind: Literal["leaf"]
    reflectance: Reflectance
    transmittance: Reflectance

    @model_validator(mode="after")
    def _makes_no_light(self) -> "Leaf":
        places = np.array(curve_breaks(self.reflectance) + curve_breaks(self.transmittance) or (300.0,))
        total = curve_at(self.reflectance, places) + curve_at(self.transmittance, places)
        most = int(np.argmax(total))
        if total[most] > 1.0 + 1e-9:
            raise ValueError(
                f"reflectance and transmittance add up to {total[most]:g} at {places[most]:g} nm; "
                "no surface returns and passes more light than it gets"
            )
        return self


Law = Annotated[Black | Lambertian | Mirror | Glossy | Metal | Sheet | Leaf | Screen, Field(discriminator="kind")]
LawRef = str | Law
"""A law spelled out, or the name of one in the scene or in the library of materials."""


def law_components(law: Law, wavelength_nm: FloatArray) -> Components:
    """Return the scattering parts of a law at wavelengths [nm], (w,)."""
    match law:
        case Black():
            return components(wavelength_nm)
        case Lambertian():
            return components(
                wavelength_nm,
                diffuse_reflectance=curve_at(law.reflectance, wavelength_nm),
                wavelength_breaks=curve_breaks(law.reflectance),
            )
        case Leaf():
            return components(
                wavelength_nm,
                diffuse_reflectance=curve_at(law.reflectance, wavelength_nm),
                diffuse_transmittance=curve_at(law.transmittance, wavelength_nm),
                wavelength_breaks=curve_breaks(law.reflectance) + curve_breaks(law.transmittance),
            )
        case Screen():
            reflectance = curve_at(law.reflectance, wavelength_nm)
            return components(
                wavelength_nm,
                fill=law.fill,
                wire_reflectance=reflectance,
                wire_remainder=wire_tables(law.fill).beyond(reflectance),
                wavelength_breaks=curve_breaks(law.reflectance),
            )
        case Glossy():
            return _glossy(law, wavelength_nm)
        case Mirror() | Metal() | Sheet():
            return _specular(law, wavelength_nm)


def _glossy(law: Glossy, wavelength_nm: FloatArray) -> Components:
    total = curve_at(law.reflectance, wavelength_nm)
    specular = None
    lobe, roughness = law.specular_share * total, law.roughness
    if law.roughness < MIRROR_LIMIT:
        specular = _by_angle(lobe[:, None] * np.ones_like(angle_nodes()), None)
        lobe, roughness = np.zeros_like(total), 0.0
    return components(
        wavelength_nm,
        diffuse_reflectance=(1.0 - law.specular_share) * total,
        lobe_reflectance=lobe,
        roughness=roughness,
        specular=specular,
        wavelength_breaks=curve_breaks(law.reflectance),
    )


MIRROR_LIMIT = 1e-3
"""Below this roughness a lobe is narrower than any receiver can tell, and is traced as a mirror."""


def _specular(law: Mirror | Metal | Sheet, wavelength_nm: FloatArray) -> Components:
    cosine = angle_nodes()[None, :]
    column = wavelength_nm[:, None]
    if isinstance(law, Mirror):
        table = _by_angle(curve_at(law.reflectance, column) * np.ones_like(cosine), None)
        return components(wavelength_nm, specular=table, wavelength_breaks=curve_breaks(law.reflectance))
    n, k = curve_at(law.n, column), curve_at(law.k, column)
    breaks = curve_breaks(law.n) + curve_breaks(law.k)
    if isinstance(law, Metal):
        return components(
            wavelength_nm, specular=_by_angle(metal_reflectance(n, k, cosine), None), wavelength_breaks=breaks
        )
    reflected, passed = sheet_reflectance_transmittance(n, k, law.thickness, column, cosine)
    return components(wavelength_nm, specular=_by_angle(reflected, passed), wavelength_breaks=breaks)


def _by_angle(reflected: FloatArray, passed: FloatArray | None) -> FloatArray:
    return np.stack([reflected, np.zeros_like(reflected) if passed is None else passed], axis=-1)
