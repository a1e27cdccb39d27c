"""What a result says: maps of any weighting, zones against their targets, coverage and hot spots."""

from sim.analysis.classification import Classification, classify
from sim.analysis.coverage import HotSpot, Peak, SceneAnswer, answer
from sim.analysis.extremes import Place, highest_place, lowest_place
from sim.analysis.gradient import Gradient
from sim.analysis.maps import Maps, quantity, unweighted
from sim.analysis.rows import Row, profiles, sensor_rows, surface_rows
from sim.analysis.zones import ZoneReport, zone_reports

__all__ = [
    "Classification",
    "Gradient",
    "HotSpot",
    "Maps",
    "Peak",
    "Place",
    "Row",
    "SceneAnswer",
    "ZoneReport",
    "answer",
    "classify",
    "highest_place",
    "lowest_place",
    "profiles",
    "quantity",
    "sensor_rows",
    "surface_rows",
    "unweighted",
    "zone_reports",
]
