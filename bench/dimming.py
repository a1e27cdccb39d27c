"""How long a map and its standard error take to follow a lamp that is dimmed: 50,000 receivers, 4 lamps.

``python bench/dimming.py`` prints a table, ``--json`` an object. The field is invented: numbers cost the same whatever
they are. What is measured is the step from new levels to new means and standard errors of all receivers.
"""

import argparse
import json
import statistics
import time

import numpy as np

from sim.tally.statistics import PartsEstimate, estimate, estimate_parts

RECEIVERS, QUICK_RECEIVERS = 50_000, 500
LAMPS, REPLICATES = 4, 64
REPEATS, QUICK_REPEATS = 51, 3
LIMIT_S = 0.1
"""A slider follows the hand without a gap that is felt: common practice in interfaces, 0.1 s."""


def measure(receivers: int, repeats: int) -> dict[str, object]:
    """Return what the steps cost, and how far the numbers are from those of the replicates themselves."""
    rng = np.random.Generator(np.random.Philox(1))
    values = rng.gamma(4.0, size=(REPLICATES, LAMPS, receivers))
    started = time.perf_counter()
    parts = estimate_parts(values)
    prepared = time.perf_counter() - started
    levels = rng.random((repeats, LAMPS))
    mixing = [seconds(parts, level) for level in levels]
    started = time.perf_counter()
    plain = estimate(np.einsum("klr,l->kr", values, levels[0]))
    from_replicates = time.perf_counter() - started
    mixed = parts.mixed(levels[0])
    return {
        "receivers": receivers,
        "lamps": LAMPS,
        "replicates": REPLICATES,
        "prepare_s": prepared,
        "median_s": statistics.median(mixing),
        "longest_s": max(mixing),
        "from_replicates_s": from_replicates,
        "ratio_to_limit": statistics.median(mixing) / LIMIT_S,
        "ratio_to_replicates": statistics.median(mixing) / from_replicates,
        "largest_difference_mean": float(np.max(np.abs(mixed.mean / plain.mean - 1.0))),
        "largest_difference_se": float(np.max(np.abs(mixed.se / plain.se - 1.0))),
    }


def seconds(parts: PartsEstimate, levels: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    """Return how long means and standard errors at new levels take [s]."""
    started = time.perf_counter()
    parts.mixed(levels)
    return time.perf_counter() - started


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few receivers: shows that it works")
    asked = parser.parse_args()
    found = measure(*((QUICK_RECEIVERS, QUICK_REPEATS) if asked.quick else (RECEIVERS, REPEATS)))
    if asked.json:
        print(json.dumps({"dimming": found}, indent=1))
        return
    print(f"{found['receivers']} receivers, {found['lamps']} lamps, {found['replicates']} replicates")
    for key, words in (
        ("prepare_s", "sums of the lamps, once"),
        ("median_s", "new levels, median"),
        ("longest_s", "new levels, longest"),
        ("from_replicates_s", "the same from the replicates"),
    ):
        print(f"{words:<32}{1000 * float(str(found[key])):>9.2f} ms")
    print(f"{'share of 100 ms':<32}{100 * float(str(found['ratio_to_limit'])):>9.2f} %")


if __name__ == "__main__":
    main()
