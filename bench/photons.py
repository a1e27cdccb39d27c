"""Photon histories per second on one thread, and where the time of a run goes, stage by stage.

``python bench/photons.py [SCENE]`` prints a table, ``--json`` an object; with ``--error 1`` a run goes on until all
zones have this error, in per cent. Kernels are compiled or loaded before the clock starts; what that costs is told by
``bench/startup.py``.
"""

import argparse
import importlib
import json
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from sim.analysis.coverage import answer
from sim.report.tables import terminal_tables
from sim.report.write import write_report
from sim.scene.load import load_scene
from sim.simulate import simulate
from sim.tally.result import Result

SCENES = Path(__file__).resolve().parents[1] / "scenes"
SCENE, SMALLEST_SCENE = SCENES / "dry-ledge.toml", SCENES / "free-tube.toml"
HISTORIES, QUICK_HISTORIES = 500_000, 2_000
PHOTONS = "photons"

# Stage, and the function that is it where `simulate` calls it.
STAGES = (
    ("check", "sim.simulate.run", "survey"),
    ("compile", "sim.simulate.run", "compile_scene"),
    ("choice of ways", "sim.simulate.run", "chosen_ways"),
    ("lamp readings", "sim.simulate.run", "lamp_powers"),
    (PHOTONS, "sim.simulate.trace", "trace_photons"),
    ("shadow rays", "sim.simulate.trace", "gather_direct"),
    ("links", "sim.simulate.trace", "gather_links"),
    ("paths", "sim.simulate.trace", "gather_paths"),
    ("stop rule", "sim.simulate.run", "largest_error"),
    ("assemble", "sim.simulate.run", "assemble"),
)


class Stages:
    """Seconds by stage; a stage within another counts for the outer one."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self._inside = False

    def timed(self, stage: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """Return the function with its time told."""

        def call(*arguments: object, **named: object) -> object:
            if self._inside:
                return function(*arguments, **named)
            self._inside = True
            started = time.perf_counter()
            try:
                return function(*arguments, **named)
            finally:
                self.seconds[stage] = self.seconds.get(stage, 0.0) + time.perf_counter() - started
                self._inside = False

        return call

    @contextmanager
    def watching(self) -> Iterator[None]:
        """Time the stages of `simulate` while this lasts."""
        found = [(importlib.import_module(module), name, stage) for stage, module, name in STAGES]
        before = [getattr(module, name) for module, name, _ in found]
        for (module, name, stage), function in zip(found, before, strict=True):
            setattr(module, name, self.timed(stage, function))
        try:
            yield
        finally:
            for (module, name, _), function in zip(found, before, strict=True):
                setattr(module, name, function)


def run_in_stages(path: Path, histories: int | None, error: float | None, folder: Path) -> tuple[Result, Stages, float]:
    """Return the result of a run as the command makes it, its stages, and the seconds of the whole."""
    stages = Stages()
    started = time.perf_counter()
    scene = stages.timed("read", load_scene)(path)
    with stages.watching():
        result = simulate(scene, histories=histories, error=error, threads=1, source=path.name)
    told = stages.timed("answer", answer)(result)
    stages.timed("save", result.save)(folder / "result.npz")
    stages.timed("report", write_report)(told, folder, None, date.today().isoformat(), overwrite=True)
    stages.timed("table", terminal_tables)(told)
    return result, stages, time.perf_counter() - started


def measure(path: Path, histories: int | None, error: float | None = None) -> dict[str, object]:
    """Return what a run of a scene costs."""
    with tempfile.TemporaryDirectory() as folder:
        run_in_stages(SMALLEST_SCENE, 1, None, Path(folder))  # compiles, or loads what was compiled
        result, stages, whole = run_in_stages(path, histories, error, Path(folder))
    rest = whole - sum(stages.seconds.values())
    seconds = stages.seconds | {"between": rest}
    return {
        "scene": path.name,
        "threads": 1,
        "histories": result.meta.histories,
        "seconds": whole,
        "histories_per_s_photons_alone": result.meta.histories / stages.seconds[PHOTONS],
        "histories_per_s_whole_run": result.meta.histories / whole,
        "stages": [{"stage": name, "seconds": value, "share": value / whole} for name, value in seconds.items()],
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scene", nargs="?", type=Path, help="a scene file; the dry ledge by default")
    parser.add_argument("--histories", type=int, help="photons in all lamps together")
    parser.add_argument("--error", type=float, metavar="PERCENT", help="go on until all zones have this error")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="a small scene and few photons: shows that it works")
    asked = parser.parse_args()
    scene = asked.scene or (SMALLEST_SCENE if asked.quick else SCENE)
    histories = asked.histories or (QUICK_HISTORIES if asked.quick else HISTORIES)
    found = measure(scene, histories) if asked.error is None else measure(scene, asked.histories, asked.error / 100.0)
    if asked.json:
        print(json.dumps({"photons": found}, indent=1))
        return
    print(f"{found['scene']}: {found['histories']} histories in {found['seconds']:.2f} s on one thread")
    print(f"{found['histories_per_s_photons_alone']:.3g} histories/s while tracing photons")
    print(f"{found['histories_per_s_whole_run']:.3g} histories/s over the whole run")
    stages = found["stages"]
    assert isinstance(stages, list)
    for row in sorted(stages, key=lambda row: -float(row["seconds"])):
        print(f"  {row['stage']:<14}{row['seconds']:>8.2f} s {100 * row['share']:>5.1f} %")


if __name__ == "__main__":
    main()
