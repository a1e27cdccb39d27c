"""Band grids: edges, labels, merging."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.spectra.arrays import FloatArray
from sim.spectra.grid import BandGrid, adaptive_edges, uniform_edges


def constant(at: FloatArray) -> FloatArray:
    return np.full((at.size, 3), 0.5)


def ramp(at: FloatArray) -> FloatArray:
    """Rises by 1 from 250 to 350 nm."""
    return (at - 250) / 100


def step(at: FloatArray) -> FloatArray:
    """Rises by 1 at 300.5 nm."""
    return np.where(at < 300.5, 0.0, 1.0)


def test_a_grid_knows_its_bands() -> None:
    grid = BandGrid(np.array([280.0, 297.5, 315.0, 400.0]))
    assert grid.n_band == 3
    assert grid.centres.tolist() == [288.75, 306.25, 357.5]
    assert grid.labels == ("280-297.5 nm", "297.5-315 nm", "315-400 nm")


@pytest.mark.parametrize(
    ("edges", "message"),
    [
        ([280.0], "at least two"),
        ([280.0, 280.0], "must increase: 280 nm is followed by 280 nm"),
        ([280.0, 300.0, 290.0], "must increase: 300 nm is followed by 290 nm"),
        ([280.0, np.nan], "finite"),
        ([[280.0, 290.0]], "at least two"),
    ],
)
def test_a_faulty_grid_is_named(edges: list[float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        BandGrid(np.array(edges))


@pytest.mark.parametrize(
    ("low", "high", "width", "edges"),
    [
        (250, 270, 5, [250, 255, 260, 265, 270]),
        (250, 262, 5, [250, 255, 260, 262]),
        (250, 252, 5, [250, 252]),
        (280, 280.3, 0.1, [280, 280.1, 280.2, 280.3]),
    ],
)
def test_uniform_edges(low: float, high: float, width: float, edges: list[float]) -> None:
    assert uniform_edges(low, high, width).tolist() == pytest.approx(edges, rel=1e-12)


@pytest.mark.parametrize(("arguments", "message"), [((250, 400, 0), "above 0 nm"), ((400, 250, 5), "must increase")])
def test_uniform_edges_refuse_nonsense(arguments: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        uniform_edges(*arguments)


@pytest.mark.parametrize("breakpoints", [[], [293.3, 310.0]])
def test_constant_curves_give_one_band(breakpoints: list[float]) -> None:
    assert adaptive_edges([constant, constant], 250, 400, 0.0, breakpoints).tolist() == [250, 400]
    assert adaptive_edges([], 250, 400, 0.0).tolist() == [250, 400]


def test_a_ramp_is_cut_into_bands_of_twice_the_tolerance() -> None:
    edges = adaptive_edges([constant, ramp], 250, 350, 0.05)
    assert edges.tolist() == [250, 260, 270, 280, 290, 300, 310, 320, 330, 340, 350]


def test_a_step_is_met_exactly_where_it_is_declared() -> None:
    assert adaptive_edges([step], 250, 400, 0.01, [300.5]).tolist() == [250, 300.5, 400]


def test_a_step_that_is_not_declared_is_alone_in_its_nanometre() -> None:
    assert adaptive_edges([step], 250, 400, 0.01).tolist() == [250, 300, 301, 400]


def test_ends_need_not_be_whole_nanometres() -> None:
    edges = adaptive_edges([ramp], 250.25, 253.5, 0.0001)
    assert edges.tolist() == [250.25, 251.25, 252.25, 253.25, 253.5]


@given(
    st.lists(st.floats(0, 1), min_size=4, max_size=8),
    st.floats(0.01, 0.3),
    st.floats(250, 300),
    st.floats(301, 400),
)
def test_every_merged_band_keeps_within_the_tolerance(
    values: list[float], tolerance: float, low: float, high: float
) -> None:
    knots = np.linspace(250, 400, len(values))

    def curve(at: FloatArray) -> FloatArray:
        return np.stack([np.interp(at, knots, values), np.interp(at, knots, values[::-1])], axis=1)

    edges = adaptive_edges([curve], low, high, tolerance, knots)
    assert (edges[0], edges[-1]) == (low, high)
    for start, end in itertools.pairwise(edges):
        if end - start > 1 + 1e-9:
            inside = curve(np.linspace(start, end, 301))
            assert np.all(np.ptp(inside, axis=0) <= 2 * tolerance + 1e-5)


@pytest.mark.parametrize(
    ("low", "high", "tolerance", "message"),
    [(250, 400, -1, "must not be negative"), (400, 250, 0.1, "must increase")],
)
def test_adaptive_edges_refuse_nonsense(low: float, high: float, tolerance: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        adaptive_edges([constant], low, high, tolerance)


def test_a_curve_that_is_not_finite_is_refused() -> None:
    with pytest.raises(ValueError, match="not finite everywhere between 250 and 400 nm"):
        adaptive_edges([lambda at: np.where(at > 300, np.nan, 1.0)], 250, 400, 0.1)
