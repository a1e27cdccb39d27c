"""How long the command line takes to answer: help, check, and runs with and without compiled kernels.

``python bench/startup.py`` prints a table, ``--json`` an object. Every figure is the median over fresh processes. A
user's first run is that of a demo scene with no kernels compiled: on one core, and on all, where other cores compile
what it needs last.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SCENE = ROOT / "scenes" / "free-tube.toml"
REPEATS, QUICK_REPEATS = 5, 1
DEMO = ROOT / "scenes" / "dry-ledge.toml"
DEMO_RUN = ("-m", "sim", "run", str(DEMO), "--no-pictures", "--quiet", "--json")
SMALLEST_RUN = ("run", str(SCENE), "--histories", "1", "--threads", "1", "--quiet", "--json")


def seconds(arguments: tuple[str, ...], repeats: int, **changes: str) -> float:
    """Return the median time of a fresh Python process [s], from call to exit."""
    environment = os.environ | changes
    taken = []
    for _ in range(repeats):
        started = time.perf_counter()
        subprocess.run([sys.executable, *arguments], cwd=ROOT, env=environment, capture_output=True, check=True)
        taken.append(time.perf_counter() - started)
    return statistics.median(taken)


def measure(quick: bool) -> list[dict[str, object]]:
    """Return each thing that is asked for and the seconds that it takes."""
    repeats = QUICK_REPEATS if quick else REPEATS
    rows: list[dict[str, object]] = []

    def add(what: str, *arguments: str, times: int = repeats, **changes: str) -> None:
        rows.append({"what": what, "seconds": seconds(arguments, times, **changes)})

    add("python alone", "-c", "pass")
    add("--help", "-m", "sim", "--help")
    add("check", "-m", "sim", "check", str(SCENE))
    if not quick:
        for cores, threads in (("one core", ("--threads", "1")), ("all cores", ())):
            with tempfile.TemporaryDirectory() as cache:
                add(f"first run of a demo scene, {cores}", *DEMO_RUN, *threads, times=1, VIVRAY_CACHE=cache)
                add(f"the same again, {cores}", *DEMO_RUN, *threads, VIVRAY_CACHE=cache)
    seconds(("-m", "sim", *SMALLEST_RUN), 1)  # so that the next run finds its kernels
    add("smallest run, kernels compiled", "-m", "sim", *SMALLEST_RUN)
    return rows


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="once each, and no compilation: shows that it works")
    asked = parser.parse_args()
    rows = measure(asked.quick)
    if asked.json:
        print(json.dumps({"startup": rows}, indent=1))
        return
    for row in rows:
        print(f"{row['what']:<36}{row['seconds']:>7.2f} s")


if __name__ == "__main__":
    main()
