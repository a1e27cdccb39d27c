"""What a packaged screen lets through and returns, by the angle of the light."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from sim.materials.law import law_components
from sim.materials.screen import Screen
from sim.report.drawing import SERIES, plain_axes
from sim.screens.by_angle import shares_by_angle

if TYPE_CHECKING:
    from sim.scene.library import Material


def screen_figure(name: str, entry: "Material") -> Figure:
    """Return shares of light from the normal to grazing, along the first wires and between both sets.

    Drawn for the wires' reflectance at 310 nm. A guess is called so in the title.

    Raises
    ------
    ValueError
        If the entry's law is no screen.
    """
    if not isinstance(entry.law, Screen):
        raise ValueError(f"'{name}' is no screen")
    reflectance = float(law_components(entry.law, np.array([310.0])).wire_reflectance[0])
    degrees = np.linspace(0.0, 89.5, 180)
    figure = Figure(figsize=(7.6, 3.6), layout="constrained")
    panes = figure.subplots(1, 2, sharey=True)
    for axes, azimuth, words in zip(panes, (0.0, 45.0), ("along the first wires", "between both sets"), strict=True):
        shares = shares_by_angle(entry.law.fill, reflectance, np.radians(degrees), float(np.radians(azimuth)))
        axes.plot(degrees, shares.straight, color=SERIES[0], label="straight between wires")
        axes.plot(degrees, shares.on, color=SERIES[1], linestyle="--", label="on, off wires")
        axes.plot(degrees, shares.back, color=SERIES[2], linestyle=":", label="back, off wires")
        axes.set(xlim=(0.0, 90.0), ylim=(0.0, 1.0), xlabel=f"degrees from the normal, {words}")
        plain_axes(axes)
    panes[0].set_ylabel("share of the light, 0 to 1")
    panes[0].legend(frameon=False)
    figure.suptitle(f"{entry.title} ({name}): {entry.kind_of_value}", fontsize=10)
    return figure
