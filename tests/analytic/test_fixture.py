"""A lamp in its fixture against closed forms: line source, view factors, a hidden image, and books that close."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from sim.analysis.fixture import SHARED, FateKind, FixtureTrace
from sim.scene.load import load_scene
from sim.simulate.fixture import trace_fixture
from sim.simulate.fixture_bench import Effort
from tests.support.scene_blocks import point, scene, tube
from tests.support.tube_light import under_line

LIGHT = 'spectrum = "uvb-phosphor-306"'
FATES: tuple[FateKind, ...] = ("ahead", "behind", "lamp", "reflector", "unfinished")


def traced(
    folder: Path, *sheets: str, radius: float = 0.008, finish: str | None = None, histories: int = 400_000
) -> FixtureTrace:
    """Trace a tube of 60 cm and 2 W in free space with reflectors on it, meters at 20 and 30 cm."""
    lamp = tube((-0.3, 0, 0), (0.3, 0, 0), radius, 2.0, light=LIGHT)
    path = folder / "scene.toml"
    path.write_text(scene("A fixture", lamp, *sheets, point("meter", (0, 0, -0.3)), histories=1000), encoding="utf-8")
    whole = load_scene(path)
    with ThreadPoolExecutor(2) as pool:
        effort = Effort(histories, 20_240_607, pool)
        return trace_fixture(whole, whole.lamps[0], np.array([0.2, 0.3]), effort, finish=finish)


def sheet(profile: str, keys: str, law: str = '{ kind = "mirror", reflectance = 0.9 }', name: str = "sheet") -> str:
    return f'[[reflectors]]\nname = "{name}"\nlamp = "tube"\nprofile = "{profile}"\n{keys}\nlaw = {law}'


def share(trace: FixtureTrace, *kinds: FateKind) -> tuple[float, float]:
    found = trace.share("uvi", *kinds)
    assert found is not None
    return float(found.mean), float(found.se)


@pytest.mark.parametrize("weighting", SHARED)
def test_shares_of_every_replicate_add_up_to_one(weighting: str, tmp_path: Path) -> None:
    keys = 'width = "10 cm"\ndepth = "4 cm"\nabove = "2 cm"\nends = true'
    trace = traced(tmp_path, sheet("trough", keys, '"anodised-aluminium"'), histories=20_000)
    live = trace.record.spectrum.band_power(trace.edges_nm) > 0.0
    assert trace.fates.sum(axis=1)[:, live] == pytest.approx(1.0, abs=1e-12)
    parts = [trace.share(weighting, kind) for kind in FATES]
    assert sum(float(part.mean) for part in parts if part is not None) == pytest.approx(1.0, abs=1e-12)
    assert all(part is not None and part.mean > 0.0 for part in parts[:1] + parts[2:4])


def test_bare_thin_tube_is_a_line_source(tmp_path: Path) -> None:
    trace = traced(tmp_path, radius=0.001)
    assert share(trace, "lamp", "reflector", "unfinished") == (0.0, 0.0)
    # The cosine law is the same up and down; the lamp's photons start on stratified points, so noise is small.
    ahead, se = share(trace, "ahead")
    assert 0.5 == pytest.approx(ahead, abs=4.0 * se + 1e-3)
    per_watt = trace.uvi_per_watt()
    for row, distance in enumerate((0.2, 0.3)):
        across, along = trace.widths(row)
        top = under_line(1.0, 0.6, distance)
        # The ratio of UV index to irradiance is the same everywhere, so it drops out of the ratio of two distances.
        assert per_watt.mean[row] / per_watt.mean[0] == pytest.approx(top / under_line(1.0, 0.6, 0.2), rel=0.005)
        half_across = brentq(lambda y, d=distance, t=top: under_line(1.0, 0.6, d, y) - 0.5 * t, 0.01, 2.0)
        half_along = brentq(lambda x, d=distance, t=top: under_line(1.0, 0.6, d, 0.0, x) - 0.5 * t, 0.01, 2.0)
        # The strips are a fifth as broad as the light, which rounds it by about a percent.
        for width, half in ((across, half_across), (along, half_along)):
            assert width.se < 0.015 * width.value
            assert width.value == pytest.approx(2.0 * half, abs=3.0 * width.se + 0.012 * 2.0 * half)


@pytest.mark.parametrize(("width", "above"), [(0.1, 0.02), (0.04, 0.03)])
def test_black_sheet_takes_its_view_factor(width: float, above: float, tmp_path: Path) -> None:
    # Endless cylinder to a parallel strip that it faces with its middle: the angle that the strip subtends at the axis
    # over a full turn (J. R. Howell, A Catalog of Radiation Configuration Factors). The sheet is 100 times too long.
    keys = f'width = "{width} m"\nabove = "{above} m"\nlength = "60 m"'
    trace = traced(tmp_path, sheet("flat", keys, '"black"'))
    expected = np.arctan(0.5 * width / above) / np.pi
    lost, se = share(trace, "reflector")
    assert expected == pytest.approx(lost, abs=4.0 * se + 1e-4)
    assert se < 0.005


def test_tube_hides_its_image_in_a_flat_mirror(tmp_path: Path) -> None:
    # Right below, the image lies behind the tube, as wide as it or narrower: the reading is that of the bare tube.
    keys = 'width = "10 cm"\nabove = "2 cm"'
    bare, mirrored = (traced(tmp_path, *sheets).uvi_per_watt() for sheets in ((), (sheet("flat", keys),)))
    assert bare.mean == pytest.approx(mirrored.mean, rel=1e-3)


def test_involute_loses_nothing_in_the_lamp(tmp_path: Path) -> None:
    keys = 'radius = "8.5 mm"\nwidth = "3 cm"'
    trace = traced(tmp_path, sheet("involute", keys))
    # Winston, Minano & Benitez, Nonimaging Optics, 2005: no ray comes back after one reflection. This narrow an
    # involute sends some light to its other branch, which may turn it back.
    lost, _ = share(trace, "lamp")
    assert lost < 0.001
    flat, _ = share(traced(tmp_path, sheet("flat", 'width = "10 cm"\nabove = "2 cm"')), "lamp")
    assert flat > 0.05


def test_a_finish_replaces_the_law_and_keeps_the_power(tmp_path: Path) -> None:
    keys = 'width = "10 cm"\nabove = "2 cm"'
    trace = traced(tmp_path, sheet("flat", keys), finish="black", histories=20_000)
    own = traced(tmp_path, sheet("flat", keys, '"black"'), histories=20_000)
    assert np.array_equal(trace.fates, own.fates)
    assert ("black", 2.0) == (trace.finish, trace.record.radiant_power)
