"""Fixtures as JSON values and as a table of one row a fixture and distance."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from sim.analysis.fixture import SHARED, FateKind, FixtureTrace, Width
from sim.report.summary import finite, with_error
from sim.tally.statistics import Estimate

FORMAT = 1
Json = dict[str, Any]

LEAVES: tuple[FateKind, ...] = ("ahead", "behind")
LOST: tuple[FateKind, ...] = ("lamp", "reflector")
SHARE_KEYS = {"uvi": "uvi", "uvb-320": "uvb_320", "uva": "uva", "": "radiant"}
"""Key of the shares by each weighting."""


def fixture_summary(traces: Sequence[FixtureTrace]) -> Json:
    """Return fixtures as plain JSON values: every number a finite float or null.

    Parameters
    ----------
    traces : sequence of FixtureTrace

    Notes
    -----
    ``..._se`` is a standard error (one sigma), ``..._ci95`` the half width of a 95 % interval.
    """
    summary: Json = finite({"format": FORMAT, "fixtures": [_fixture(trace) for trace in traces]})
    return summary


def _fixture(trace: FixtureTrace) -> Json:
    return {
        "scene": trace.scene,
        "lamp": trace.lamp,
        "finish": trace.finish or None,
        **with_error("radiant_power", trace.power, "W"),
        "notes": list(trace.record.notes),
        "histories": trace.histories,
        "shares": {SHARE_KEYS[name]: _shares(trace, name) for name in SHARED},
        "distances": [_distance(trace, row) for row in range(len(trace.distances))],
    }


def _shares(trace: FixtureTrace, weighting: str) -> Json | None:
    """Return what became of the light by a weighting; null where the lamp has none of it."""
    leaves = trace.share(weighting, *LEAVES)
    if leaves is None:
        return None
    return {
        **with_error("leaves", leaves),
        **_share(trace, weighting, "leaves_ahead", "ahead"),
        **_share(trace, weighting, "leaves_behind", "behind"),
        **_share(trace, weighting, "lost", *LOST),
        **_share(trace, weighting, "lost_in_lamp", "lamp"),
        **_share(trace, weighting, "lost_in_reflectors", "reflector"),
        "lost_in": [
            {"name": name, **_share(trace, weighting, "share", kind, name=name)}
            for kind, name in zip(trace.kinds, trace.names, strict=True)
            if kind in LOST
        ],
        **_share(trace, weighting, "unfinished", "unfinished"),
    }


def _share(trace: FixtureTrace, weighting: str, key: str, *kinds: FateKind, name: str | None = None) -> Json:
    value = trace.share(weighting, *kinds, name=name)
    return {} if value is None else with_error(key, value)


def _distance(trace: FixtureTrace, row: int) -> Json:
    across, along = trace.widths(row)
    return {
        "distance_m": float(trace.distances[row]),
        **with_error("uvi", _one(trace.uvi_at_power(), row)),
        **with_error("uvi_per_watt", _one(trace.uvi_per_watt(), row)),
        **with_error("uvb_320", _one(trace.uvb_at_power(), row), "W_m2"),
        **_below_298(trace, row),
        **_width("width_across", across),
        **_width("width_along", along),
    }


def _below_298(trace: FixtureTrace, row: int) -> Json:
    share = trace.share_below_298(row)
    return {"share_below_298": share.value, "share_below_298_se": share.se}


def _width(key: str, width: Width) -> Json:
    return {f"{key}_m": width.value, f"{key}_se": width.se, f"{key}_ci95": width.half_width}


def _one(values: Estimate, row: int) -> Estimate:
    return Estimate(values.mean[row], values.se[row], values.replicates)


SHARE_COLUMNS = ("leaves", "leaves_ahead", "leaves_behind", "lost", "lost_in_lamp", "lost_in_reflectors")


def fixture_csv(summary: Json) -> str:
    """Return a table with one row for each fixture and distance; shares are those by UV index.

    Parameters
    ----------
    summary : dict
        What `fixture_summary` returns.
    """
    rows = []
    for fixture in summary["fixtures"]:
        shares = fixture["shares"]["uvi"] or {}
        shared = {f"{name}{suffix}": shares.get(f"{name}{suffix}") for name in SHARE_COLUMNS for suffix in ("", "_se")}
        head = {key: fixture[key] for key in ("scene", "lamp", "finish", "radiant_power_W", "radiant_power_se")}
        for place in fixture["distances"]:
            told = {key: value for key, value in place.items() if not key.endswith("_ci95")}
            rows.append(head | told | shared)
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
