"""What is told of a lamp's power: its readings beside the model, and the range in which it is known."""

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from sim.analysis.coverage import SceneAnswer, answer
from sim.analysis.numbers import with_error
from sim.analysis.spectral_share import Share
from sim.analysis.zones import ZoneReport
from sim.report.cautions import cautions
from sim.report.page import report_page
from sim.report.prose import NO_BREAK
from sim.report.summary import run_summary
from sim.report.tables import terminal_tables
from sim.report.wording import share_words
from sim.tally.lamp_record import Agreement, FittedReading, LampRecord
from sim.tally.result import Result, load_result
from tests.support.synthetic_result import terrarium

README = (Path(__file__).resolve().parents[3] / "README.md").read_text(encoding="utf-8")
READINGS = (
    FittedReading("uvi", 0.2, 5.2, 0.05, 5.0, 0.001),
    FittedReading("uvb-320", 0.3, 1.5, 0.1, 2.0, 0.002),
)


def with_lamp(result: Result, **changes: object) -> Result:
    lamp: LampRecord = replace(result.lamps[0], **changes)  # type: ignore[arg-type]
    return replace(result, lamps=(lamp, *result.lamps[1:]))


def ranged() -> Result:
    return with_lamp(terrarium(), power_range=(0.6, 1.4), range_from="the share of electrical power")


def fitted(chance: float) -> Result:
    agreement = Agreement(12.0, 1, chance)
    return with_lamp(terrarium(), readings=READINGS, agreement=agreement, power_range=(0.9, 1.1), range_from="errors")


def printed(told: SceneAnswer) -> str:
    stream = io.StringIO()
    Console(file=stream, width=300).print(terminal_tables(told))
    return stream.getvalue()


def ends(zone: ZoneReport) -> tuple[float, float]:
    """Return a zone's mean with the lamps weak and strong."""
    assert zone.uvi_between is not None
    low, high = zone.uvi_between
    return float(low.mean), float(high.mean)


def test_zone_means_at_both_ends_beside_an_error_that_stays() -> None:
    sure, told = answer(terrarium()), answer(ranged())
    assert [None] * len(sure.zones) == [zone.uvi_between for zone in sure.zones]
    for before, zone in zip(sure.zones, told.zones, strict=True):
        mean = float(zone.uvi.mean)
        assert (0.6 * mean, 1.4 * mean) == pytest.approx(ends(zone), rel=1e-6)
        assert (float(before.uvi.mean), float(before.uvi.se)) == (mean, float(zone.uvi.se))


def test_dimming_and_the_range_multiply() -> None:
    zone = answer(ranged(), [0.5]).zones[0]
    assert ends(zone) == pytest.approx((0.6 * float(zone.uvi.mean), 1.4 * float(zone.uvi.mean)), rel=1e-6)


def test_summary_has_the_range() -> None:
    summary = run_summary(ranged())
    lamp, zone = summary["lamps"][0], summary["zones"][0]
    watts = lamp["radiant_power_W"]
    assert (0.6 * watts, 1.4 * watts) == pytest.approx((lamp["power_low_W"], lamp["power_high_W"]))
    assert (0.6 * zone["uvi_mean"], 1.4 * zone["uvi_mean"]) == pytest.approx(
        (zone["uvi_mean_low"], zone["uvi_mean_high"]), rel=1e-6
    )
    sure = run_summary(terrarium())
    assert (None, None) == (sure["lamps"][0]["power_low_W"], sure["zones"][0]["uvi_mean_high"])


def test_terminal_and_page_tell_the_range() -> None:
    told = answer(ranged())
    low, high = ends(told.zones[0])
    assert "mean, lamps weak to strong" in printed(told)
    error = float(told.zones[0].uvi.half_width)
    assert f"{with_error(low, 0.6 * error)} to {with_error(high, 1.4 * error)}" in printed(told)
    assert "lamps weak" not in printed(answer(terrarium()))
    assert "Lamps weak to strong" in report_page(told, "2026-01-05")
    assert "Lamps weak to strong" not in report_page(answer(terrarium()), "2026-01-05")


def test_cautions_tell_of_a_verdict_that_the_range_overturns() -> None:
    told = cautions(answer(ranged()))
    assert any(
        "known only between 60 % and 140 % of what was taken, by the share of electrical power" in t for t in told
    )
    # The basking zone's mean, 1.7 or so, lies in 1.0 to 2.6, and 60 % or 140 % of it may not.
    wide = with_lamp(terrarium(), power_range=(0.3, 1.0), range_from="a guess")
    assert any("not all of it inside its target" in text for text in cautions(answer(wide)))
    narrow = with_lamp(terrarium(), power_range=(0.99, 1.01), range_from="a guess")
    assert not any("not all of it inside its target" in text for text in cautions(answer(narrow)))


def test_cautions_tell_of_a_place_that_a_strong_lamp_makes_too_bright() -> None:
    strong = with_lamp(terrarium(), power_range=(1.0, 5.0), range_from="a guess")
    assert any("as strong as is known to be possible" in text for text in cautions(answer(strong)))
    assert not any("as strong as is known" in text for text in cautions(answer(ranged())))


@pytest.mark.parametrize(("chance", "doubted"), [(0.5, False), (0.0005, True)])
def test_readings_stand_beside_the_model(chance: float, doubted: bool) -> None:
    told = answer(fitted(chance))
    text, page = printed(told), report_page(told, "2026-01-05")
    row = next(line for line in text.splitlines() if "UVB to 320 nm" in line)
    # Half a 95 % interval of 64 replicates is 1.998 standard errors, here of 0.2 % each.
    assert ["30", "cm", "150", "200.00", "±", "0.80", "-25.0", "%", "10", "%"] == row.split("µW/cm²")[1].split()
    assert "Readings of lamp tube, to which one power was fitted" in page
    assert f"+4.0{NO_BREAK}%" in page
    warning = "readings disagree with the model by more than their errors admit"
    assert [doubted] * 3 == [warning in where for where in (text, page, " ".join(cautions(told)))]


def test_summary_has_the_readings_and_every_key_is_explained() -> None:
    lamp = run_summary(fitted(0.0005))["lamps"][0]
    assert lamp["agreement"] == {"chi_square": 12.0, "degrees_of_freedom": 1, "chance": 0.0005, "doubtful": True}
    assert lamp["readings"][1]["difference"] == pytest.approx(-0.25)
    keys = {*lamp, *lamp["agreement"], *(key for row in lamp["readings"] for key in row)}
    assert set() == keys - set(re.findall(r"`(\w+)`", README))


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (Share(0.477, 1e-9, 64), "47.70 ± 0.01 %"),
        (Share(0.123, 0.02, 64), "12.3 ± 4.0 %"),
        (Share(0.5, 0.0, 64), "50 %"),
        (Share(0.25, float("nan"), 2), "25 %"),
        (Share(float("nan"), float("nan"), 64), "–"),
    ],
)
def test_shares_have_their_errors(share: Share, words: str) -> None:
    assert words == share_words(share)


def test_a_stored_result_keeps_them(tmp_path: Path) -> None:
    result = fitted(0.2)
    result.save(tmp_path / "result.npz")
    kept = load_result(tmp_path / "result.npz").lamps[0]
    for key in ("readings", "agreement", "power_range", "range_from", "notes"):
        assert getattr(result.lamps[0], key) == getattr(kept, key)


def test_light_that_may_be_missing_is_told_wherever_numbers_are() -> None:
    names = ("a", "b", "c", "d", "e", "f")
    told = answer(with_lamp(terrarium(), missed_at=names))
    words = "what curved mirrors send of its light to a, b, c, d and 2 more may be missing there"
    assert words in printed(told)
    assert any(words in line for line in cautions(told))
    assert run_summary(told.result, known=told)["lamps"][0]["light_may_be_missing_at"] == list(names)
    assert "curved mirrors" not in printed(answer(terrarium()))


def test_where_light_may_be_missing_is_stored(tmp_path: Path) -> None:
    result = with_lamp(terrarium(), missed_at=("meter",))
    result.save(tmp_path / "result.npz")
    assert load_result(tmp_path / "result.npz").lamps[0].missed_at == ("meter",)
