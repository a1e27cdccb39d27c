"""What a packaged material returns and passes, wavelength by wavelength, with the range that real samples show."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from sim.materials.curve import Table
from sim.materials.law import Glossy, Lambertian, Leaf, Mirror, law_components
from sim.report.drawing import QUIET, SERIES, plain_axes

if TYPE_CHECKING:
    from sim.scene.library import Material

_SPAN_NM = (280.0, 400.0)


def material_figure(name: str, entry: "Material") -> Figure:
    """Return reflectance and, where there is any, transmittance from 280 to 400 nm.

    Smooth metals and sheets are drawn for light that arrives along the normal. A guess is called so in the title.
    """
    wavelength_nm = np.linspace(*_SPAN_NM, 241)
    parts = law_components(entry.law, wavelength_nm)
    figure = Figure(figsize=(7.6, 3.6), layout="constrained")
    axes = figure.subplots()
    reflected, passed = parts.at_normal()
    axes.plot(wavelength_nm, reflected, color=SERIES[0], label="reflectance")
    _draw_range(axes, entry)
    if passed.any():
        axes.plot(wavelength_nm, passed, color=SERIES[1], linestyle="--", label="transmittance")
    axes.set(xlim=_SPAN_NM, ylim=(0.0, 1.0), xlabel="wavelength, nm", ylabel="share of the light, 0 to 1")
    axes.axvline(315.0, color=QUIET, linewidth=0.8, linestyle=(0, (2, 2)))
    axes.annotate("UVB | UVA", (315.0, 1.0), ha="center", va="bottom", fontsize=8, color=QUIET)
    plain_axes(axes)
    axes.set_title(f"{entry.title} ({name}): {entry.kind_of_value}", pad=18, fontsize=10)
    axes.legend(frameon=False)
    return figure


def _draw_range(axes: Axes, entry: "Material") -> None:
    if not isinstance(entry.law, Lambertian | Mirror | Glossy | Leaf):
        return
    curve = entry.law.reflectance
    if isinstance(curve, Table) and curve.low is not None and curve.high is not None:
        axes.fill_between(
            curve.wavelength, curve.low, curve.high, color=SERIES[0], alpha=0.15, linewidth=0, label="range of samples"
        )
