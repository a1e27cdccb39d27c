"""The answer as one JSON object: what `vivray run --json` prints and ``summary.json`` holds."""

import math
from typing import Any

from sim.analysis.coverage import HotSpot, Peak, SceneAnswer, answer
from sim.analysis.energy import PowerBudget
from sim.analysis.extremes import Place
from sim.analysis.gradient import Gradient
from sim.analysis.rows import Row
from sim.analysis.verdict import Verdict
from sim.analysis.zones import ZoneReport
from sim.report.cautions import cautions
from sim.report.highest import note_beside
from sim.report.wording import QUANTITIES
from sim.tally.lamp_record import Agreement, FittedReading, LampRecord
from sim.tally.result import Result
from sim.tally.statistics import Estimate, estimate

FORMAT = 1
Json = dict[str, Any]


def run_summary(result: Result, elapsed_s: float | None = None, known: SceneAnswer | None = None) -> Json:
    """Return a run as plain JSON values: every number a finite float or null.

    Parameters
    ----------
    result : Result
    elapsed_s : float, optional [s]
        Time that the run took; null where it is not known.
    known : SceneAnswer, optional
        The answer of the same result, where it is there already.

    Notes
    -----
    ``..._se`` is a standard error (one sigma), ``..._ci95`` the half width of a 95 % interval. A highest or lowest
    value is free of the bias of picking the luckiest cell; ``..._on_map`` is the bare cell mean and ``..._bound``
    what no cell exceeds with 97.5 % confidence.
    """
    told = answer(result) if known is None else known
    meta, budget = result.meta, told.power
    summary: Json = {
        "format": FORMAT,
        "title": meta.title,
        "scene": meta.scene,
        "digest": meta.digest,
        "version": meta.version,
        "seed": meta.seed,
        "histories": meta.histories,
        "replicates": meta.replicates,
        "elapsed_s": elapsed_s,
        "wavelengths_nm": [float(result.edges_nm[0]), float(result.edges_nm[-1])],
        "verdict": told.outcome,
        "lamps": [_lamp(*lamp) for lamp in zip(result.lamps, budget.of_lamps, strict=True)],
        "energy": _energy(budget),
        "surfaces": [_row(row) for row in told.surfaces],
        "sensors": [_sensor(told, row) for row in told.sensors],
        "zones": [_zone(zone) for zone in told.zones],
        "gradients": [_gradient(gradient) for gradient in told.gradients],
        "highest_reachable": None if told.peak is None else {**_peak(told.peak), "note": note_beside(told) or None},
        "hot_spots": [_hot_spot(spot) for spot in told.hot_spots],
        "cautions": list(cautions(told)),
    }
    plain: Json = finite(summary)
    return plain


def _lamp(lamp: LampRecord, power: Estimate) -> Json:
    low, high = (float(power.mean) * factor for factor in lamp.power_range)
    return {
        "name": lamp.name,
        **with_error("radiant_power", power, "W"),
        "power_low_W": low if lamp.has_range else None,
        "power_high_W": high if lamp.has_range else None,
        "power_range_from": lamp.range_from or None,
        "notes": list(lamp.notes),
        "readings": [_reading(reading) for reading in lamp.readings],
        "agreement": None if lamp.agreement is None else _agreement(lamp.agreement),
        "light_may_be_missing_at": list(lamp.missed_at),
    }


def _reading(reading: FittedReading) -> Json:
    return {
        "weighting": reading.weighting,
        "at_m": reading.distance,
        "stated": reading.stated,
        "stated_error": reading.error,
        "computed": reading.computed,
        "computed_error": reading.computed_error,
        "difference": reading.difference,
    }


def _agreement(agreement: Agreement) -> Json:
    return {
        "chi_square": agreement.chi_square,
        "degrees_of_freedom": agreement.freedom,
        "chance": agreement.chance,
        "doubtful": agreement.doubtful,
    }


def _energy(budget: PowerBudget) -> Json:
    return {
        **with_error("emitted", budget.emitted.power, "W"),
        **with_error("absorbed", budget.absorbed.power, "W"),
        **with_error("escaped", budget.escaped.power, "W"),
        **with_error("unfinished", budget.unfinished.power, "W"),
        "absorbed_by_W": {name: float(part.power.mean) for name, part in budget.absorbed_by.items()},
        "absorbed_by_se": {name: float(part.power.se) for name, part in budget.absorbed_by.items()},
    }


def _bound(key: str, value: Estimate | None) -> Json:
    """Return an end of what is known of the lamps' power, or nulls where that is sure."""
    none: Json = {key: None, f"{key}_se": None, f"{key}_ci95": None}
    return none if value is None else with_error(key, value)


def with_error(key: str, value: Estimate, unit: str = "") -> Json:
    """Return a number with its standard error and the half width of its 95 % interval under keys that tell them."""
    suffix = f"_{unit}" if unit else ""
    return {
        f"{key}{suffix}": float(value.mean),
        f"{key}_se": float(value.se),
        f"{key}_ci95": float(value.half_width),
    }


def _where(place: Place) -> Json:
    x, y, z = place.position
    return {"surface": place.group, "x_m": x, "y_m": y, "z_m": z}


def _extreme(key: str, place: Place) -> Json:
    return {
        key: place.value,
        f"{key}_se": place.se,
        f"{key}_ci95": place.half_width,
        f"{key}_on_map": place.on_map,
        f"{key}_bound": place.bound,
        f"{key}_where": _where(place),
    }


def _row(row: Row) -> Json:
    return {
        "name": row.name,
        "area_m2": row.area,
        **with_error("irradiance", row.irradiance, "W_m2"),
        **with_error("uvi", row.uvi),
        **_extreme("uvi_min", row.low),
        **_extreme("uvi_max", row.high),
    }


def _sensor(told: SceneAnswer, row: Row) -> Json:
    """Return a sensor's row; a grid carries one more row a cell."""
    sensor = _row(row)
    if (row.group.detail or {}).get("kind") == "grid":
        sensor["cells"] = _cells(told, row)
    return sensor


def _cells(told: SceneAnswer, row: Row) -> list[Json]:
    rows = row.group.rows
    irradiance, uvi = estimate(told.maps.irradiance[:, rows]), estimate(told.maps.uvi[:, rows])
    return [
        {
            "i": index % max(1, row.group.shape[0]),
            "j": index // max(1, row.group.shape[0]),
            **{f"{axis}_m": float(part) for axis, part in zip("xyz", centre, strict=True)},
            "irradiance_W_m2": float(irradiance.mean[index]),
            "irradiance_se": float(irradiance.se[index]),
            "uvi": float(uvi.mean[index]),
            "uvi_se": float(uvi.se[index]),
        }
        for index, centre in enumerate(told.result.centre[rows])
    ]


def _verdict(verdict: Verdict) -> Json:
    return {
        "verdict": verdict.outcome,
        "verdict_words": verdict.words,
        "photon_factor": verdict.photon_factor,
        "criteria": [
            {"name": part.name, "verdict": part.outcome, "words": part.words, "photon_factor": part.factor}
            for part in verdict.criteria
        ],
    }


def _zone(zone: ZoneReport) -> Json:
    target, covered = zone.target, zone.covered
    return {
        "name": zone.name,
        "role": zone.role,
        "uvi_mean": float(zone.uvi.mean),
        "uvi_se": float(zone.uvi.se),
        "uvi_ci95": float(zone.uvi.half_width),
        **_bound("uvi_mean_low", None if zone.uvi_between is None else zone.uvi_between[0]),
        **_bound("uvi_mean_high", None if zone.uvi_between is None else zone.uvi_between[1]),
        **_extreme("uvi_min", zone.low),
        **_extreme("uvi_max", zone.high),
        "covered_share": None if covered is None else covered.share,
        "covered_share_se": None if covered is None else covered.se,
        "covered_share_surely": None if covered is None else covered.surely,
        "covered_share_at_most": None if covered is None else covered.at_most,
        **_verdict(zone.verdict),
        "target": {"mean_low": target.low, "mean_high": target.high, "max": target.max, "share": target.share},
        "exposure_zone": zone.exposure_zone.zone,
        "exposure_zone_words": zone.exposure_zone.words,
        "height_m": zone.height,
        "share_below_298": zone.below_298.value,
        "share_below_298_se": zone.below_298.se,
        **_others(zone),
    }


def _others(zone: ZoneReport) -> Json:
    parts = (with_error(QUANTITIES[name][0], value, "W_m2") for name, value in zone.others.items())
    return {key: value for part in parts for key, value in part.items()}


def _gradient(gradient: Gradient) -> Json:
    return {
        "basking": gradient.basking,
        "refuge": gradient.refuge,
        **with_error("difference", gradient.difference),
        "distance_m": gradient.distance,
    }


def _peak(peak: Peak) -> Json:
    distance = {"nearest_lamp": peak.lamp or None, "lamp_distance_m": peak.lamp_distance}
    return {**_extreme("uvi", peak.place), "kind": peak.kind, **distance}


def _hot_spot(spot: HotSpot) -> Json:
    return {
        **_peak(spot.peak),
        "limit": spot.limit,
        "limit_from": spot.limit_from,
        "area_m2": spot.area,
        "area_surely_m2": spot.area_surely,
        "sure": spot.sure,
    }


def finite(value: Any) -> Any:  # noqa: ANN401  # JSON is any of its own kinds
    """Return a JSON value whose NaN and infinite numbers are null."""
    if isinstance(value, dict):
        return {key: finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [finite(part) for part in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
