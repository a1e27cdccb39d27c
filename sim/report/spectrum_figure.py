"""What the lamps send out, wavelength by wavelength, beside the erythema curve."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from sim.analysis.numbers import plain
from sim.analysis.spectral_share import EDGE_NM
from sim.report.drawing import INK, LINES, QUIET, SERIES, add_legend, with_margins
from sim.report.rulers import OF_GRAPH, PAD, add_grid, add_ruler, ruler_room
from sim.spectra.weighting import WEIGHTINGS
from sim.tally.lamp_record import LampRecord
from sim.tally.result import FloatArray

MILLIWATTS = 1e3
"""Of a watt."""


def spectrum_figure(lamps: Sequence[LampRecord], edges_nm: FloatArray) -> Figure:
    """Return the spectra of the lamps over the traced wavelengths, with the erythema weighting below.

    Continua are drawn in mW/nm; lines, which have no width, as stems in mW on the right-hand scale.

    Parameters
    ----------
    lamps : sequence of LampRecord
    edges_nm : (band + 1,) float [nm]
    """
    low, high = float(edges_nm[0]), float(edges_nm[-1])
    figure = Figure(figsize=(7.6, 5.0))
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1), gridspec_kw={"hspace": 0.08})
    beside = above.twinx() if any(np.any(_inside(lamp.spectrum.line_nm, low, high)) for lamp in lamps) else None
    for index, lamp in enumerate(lamps):
        _draw(above, beside, lamp, (low, high), (SERIES[index % len(SERIES)], LINES[index % len(LINES)]))
    above.set_ylim(bottom=0.0)
    add_grid(above, ("", "continuum, mW/nm"), numbers_below=False)
    if beside is not None:
        beside.set_ylim(bottom=0.0)
        add_ruler(beside, "right", "lines (stems), mW", PAD, OF_GRAPH)
        beside.spines[["top", "left"]].set_visible(False)
    right = 0.2 if beside is None else max(0.5, ruler_room(beside))
    with_margins(figure, max(0.75, ruler_room(above)), right)
    add_legend(figure, above)
    _draw_erythema(below, low, high)
    for axes in (above, below):
        axes.axvline(EDGE_NM, color=QUIET, linewidth=0.8, linestyle=(0, (2, 2)))
    above.annotate(
        f"{EDGE_NM:g} nm",
        (EDGE_NM, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(-3, -10),
        textcoords="offset points",
        fontsize=8,
        color=QUIET,
        ha="right",
    )
    below.set_xlim(low, high)
    return figure


def _inside(wavelength_nm: FloatArray, low: float, high: float) -> FloatArray:
    return wavelength_nm[(wavelength_nm >= low) & (wavelength_nm <= high)]


def _draw(above: Axes, beside: Axes | None, lamp: LampRecord, ends: tuple[float, float], look: tuple[str, str]) -> None:
    colour, line = look
    wavelength = np.linspace(*ends, 1501)
    density = MILLIWATTS * lamp.spectrum.density_at(wavelength)
    above.plot(wavelength, density, color=colour, linestyle=line, label=lamp.name)
    at = (lamp.spectrum.line_nm >= ends[0]) & (lamp.spectrum.line_nm <= ends[1])
    if beside is None or not np.any(at):
        return
    power = MILLIWATTS * lamp.spectrum.line_power[at]
    beside.vlines(lamp.spectrum.line_nm[at], 0.0, power, color=colour, linewidth=1.3, alpha=0.75)
    beside.plot(lamp.spectrum.line_nm[at], power, "D", color=colour, markersize=3.5)


def _draw_erythema(axes: Axes, low: float, high: float) -> None:
    wavelength = np.linspace(low, high, 1501)
    weight = WEIGHTINGS["erythema"](wavelength)
    axes.semilogy(wavelength, np.where(weight > 0, weight, np.nan), color=INK, linewidth=1.4)
    axes.set_ylim(1e-4, 2.0)
    axes.yaxis.set_major_formatter(lambda value, _: plain(value))
    add_grid(axes, ("wavelength, nm", "erythema weight"))
