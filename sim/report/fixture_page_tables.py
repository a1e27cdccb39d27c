"""The tables of a sheet: by distance, and where the light goes."""

from sim.analysis.fixture import FateKind, FixtureTrace
from sim.analysis.numbers import with_error
from sim.report.fixture_names import name_of
from sim.report.fixture_tables import width_words
from sim.report.lengths import LengthUnit
from sim.report.page_tables import TextTable
from sim.report.wording import MICROWATTS_PER_CM2, share_words
from sim.tally.statistics import Estimate

_SHARED = (("uvi", "UV index"), ("uvb-320", "UVB to 320 nm"), ("uva", "UVA"), ("", "All traced light"))
_WORDS: dict[FateKind, str] = {
    "ahead": "leaves ahead of the lamp",
    "behind": "leaves behind it",
    "lamp": "lost in {}",
    "reflector": "lost in {}",
    "unfinished": "given up unfinished",
}


def at_distances(trace: FixtureTrace, unit: LengthUnit) -> TextTable:
    """Return UV index, UVB and width of the lit band at each distance, with errors."""
    uvi, uvb = trace.uvi_at_power(), trace.uvb_at_power()
    rows = []
    for row, distance in enumerate(trace.distances):
        share = trace.share_below_298(row)
        rows.append(
            (
                f"{unit.of(float(distance)):.4g}",
                with_error(float(uvi.mean[row]), float(uvi.half_width[row])),
                with_error(*(MICROWATTS_PER_CM2 * float(part[row]) for part in (uvb.mean, uvb.half_width))),
                *(width_words(width, unit).replace("-", "–") for width in trace.widths(row)),
                share_words(share),
            )
        )
    columns = (
        f"Distance, {unit.symbol}",
        "UV index",
        "UVB, 280 to 320 nm, µW/cm²",
        f"Lit across, {unit.symbol}",
        f"Lit along, {unit.symbol}",
        "UVI from below 298 nm",
    )
    caption = (
        f"{name_of(trace)}: by distance from the middle of the lamp along its facing; lit: full width at half the "
        "maximum, square to the lamp's axis and along it"
    )
    return TextTable(caption, columns, tuple(rows))


def outputs(trace: FixtureTrace) -> TextTable:
    """Return what leaves the fixture and what is lost in it and where, as shares of the light."""
    rows = []
    for kind, name in dict.fromkeys(_fates(trace)):
        words = _WORDS[kind].format(name)
        only = name if kind in ("lamp", "reflector") else None
        rows.append((words, *(_share(trace, weighting, kind, only) for weighting, _ in _SHARED)))
    columns = ("Part of the light", *(words for _, words in _SHARED))
    return TextTable(
        f"{name_of(trace)}: where the light of the lamp goes, as shares of each quantity, in %", columns, tuple(rows)
    )


def _fates(trace: FixtureTrace) -> list[tuple[FateKind, str]]:
    """Return kinds and names, those that leave first; what leaves has no name of its own."""
    order: list[FateKind] = ["ahead", "behind", "lamp", "reflector", "unfinished"]
    found = [
        (kind, name if kind in ("lamp", "reflector") else "")
        for kind, name in zip(trace.kinds, trace.names, strict=True)
    ]
    return sorted(found, key=lambda fate: order.index(fate[0]))


def _share(trace: FixtureTrace, weighting: str, kind: FateKind, name: str | None) -> str:
    share = trace.share(weighting, kind, name=name)
    return "–" if share is None else percent_of(share)


def percent_of(share: Estimate) -> str:
    """Return a share in percent with its error, without the sign."""
    return with_error(100.0 * float(share.mean), 100.0 * float(share.half_width))


def compared_row(trace: FixtureTrace, row: int, unit: LengthUnit) -> tuple[str, ...]:
    """Return UV index, widths and shares at one distance, for a table of several fixtures."""
    uvi = trace.uvi_at_power()
    by = "uvi" if trace.share("uvi", "ahead") is not None else ""
    ahead, lost = trace.share(by, "ahead"), trace.share(by, "lamp", "reflector")
    return (
        with_error(float(uvi.mean[row]), float(uvi.half_width[row])),
        *(width_words(width, unit).replace("-", "–") for width in trace.widths(row)),
        *("–" if share is None else percent_of(share) for share in (ahead, lost)),
    )
