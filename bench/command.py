"""How long ``vivray run`` takes from start to end, stage by stage: imports, tracing, sections, pictures, files.

``python bench/command.py [SCENE ...]`` runs demo scenes to an error (``--error 1``, in per cent) with a report, each
``--repeats`` times in fresh processes, and prints a table of the fastest; ``--json`` an object. A stage within another
counts for the outer one, but for imports, which count for themselves. Beside the seconds of each stage stand those that
the processors worked in it, which other work on the machine hardly changes. Kernels are compiled beforehand, and so are
the modules, as they are for everybody who has run the program once.

Last come the times from a save of the scene to the first page with its map, to its tables, and to its report where
``--watch`` has the program stay, medians over ``--repeats`` saves. Each save is of another seed, so that nothing is
kept from the run before.
"""

import argparse
import importlib
import json
import os
import re
import resource
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable
from importlib.machinery import SourceFileLoader
from pathlib import Path
from queue import SimpleQueue
from types import ModuleType
from typing import Any, TypeAlias

from sim.report.watched_page import STAMP

ROOT = Path(__file__).resolve().parents[1]
DEMOS = ("dry-ledge", "tall-foliage", "spot-slab")
SMALLEST = ROOT / "scenes" / "free-tube.toml"
IMPORTS = "imports"
KERNELS = "sim.simulate.trace"
SAVE_AFTER_S = 3.0
"""Time between a report and the next save: somebody looks at it, and the program that draws gets ready."""
LOOK_EVERY_S = 0.005
Told: TypeAlias = tuple[float, str | None]

# Stage, module, and the function or method of it that is the stage.
STAGES = (
    ("check", "sim.commands.checking", "surveyed"),
    ("compile", "sim.simulate.run", "compile_bodies"),
    ("compile", "sim.simulate.run", "compile_scene"),
    ("lamp readings", "sim.simulate.run", "_powers"),
    ("choice of ways", "sim.simulate.run", "chosen_ways"),
    ("tracing", "sim.simulate.run", "_trace_to"),
    ("stop rule", "sim.simulate.run", "largest_error"),
    ("sections", "sim.simulate.run", "traced_sections"),
    ("assemble", "sim.simulate.run", "assemble"),
    ("save", "sim.tally.result", "write_archive"),
    ("answer", "sim.analysis.coverage", "answer"),
    ("figures", "sim.report.page", "draw_figures"),
    ("wait for pictures", "sim.commands.page_pictures", "PageArtist._pictures"),
    ("rest of the report", "sim.report.write", "write_report"),
    ("table", "sim.report.tables", "terminal_tables"),
)
# Kernels that share the time of tracing, by the time of their threads.
PARTS = {
    "trace_photons": "photons",
    "gather_direct": "shadow rays",
    "gather_links": "links",
    "gather_paths": "paths",
}
INNER = {IMPORTS, "figures", "wait for pictures"}
"""Stages that count for themselves wherever they lie."""


class Clock:
    """Seconds by stage of the main thread, those that processors worked meanwhile, and kernels by what they trace."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.worked: dict[str, float] = {}
        self.kernels: dict[str, float] = {}
        self.loaded: dict[str, float] = {}
        self._open: list[str] = []
        self._since, self._worked_since = time.monotonic(), 0.0
        self._lock = threading.Lock()

    def _turn(self) -> None:
        """Book what went by since the last turn for the stage that is open."""
        now, worked = time.monotonic(), time.process_time()
        stage = self._open[-1] if self._open else "between"
        self.seconds[stage] = self.seconds.get(stage, 0.0) + now - self._since
        self.worked[stage] = self.worked.get(stage, 0.0) + worked - self._worked_since
        self._since, self._worked_since = now, worked

    def timed(self, stage: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """Return a function with its time told."""

        def call(*arguments: object, **named: object) -> object:
            main = threading.current_thread() is threading.main_thread()
            if not main or (self._open and stage not in INNER) or self._open[-1:] == [IMPORTS]:
                return function(*arguments, **named)
            self._turn()
            self._open.append(stage)
            try:
                return function(*arguments, **named)
            finally:
                self._turn()
                self._open.pop()

        return call

    def shared(self, part: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """Return a kernel with its thread's time told while a run is traced."""

        def call(*arguments: object) -> object:
            if self._open[-1:] != ["tracing"]:
                return function(*arguments)
            started = time.thread_time()
            try:
                return function(*arguments)
            finally:
                with self._lock:
                    self.kernels[part] = self.kernels.get(part, 0.0) + time.thread_time() - started

        return call

    def loading(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """Return the look into the cache of kernels with its time told."""

        def call(cache: Any, *arguments: object) -> object:  # noqa: ANN401  # numba's
            started = time.thread_time()
            try:
                return function(cache, *arguments)
            finally:
                with self._lock:
                    kernel = str(cache._py_func.__name__)
                    self.loaded[kernel] = self.loaded.get(kernel, 0.0) + time.thread_time() - started

        return call

    def finished(self) -> dict[str, dict[str, float]]:
        """Return all, the stage of tracing parted by kernels."""
        self._turn()
        return {"stages": self._parted(self.seconds), "worked": self._parted(self.worked), "kernels": self.loaded}

    def _parted(self, seconds: dict[str, float]) -> dict[str, float]:
        whole = sum(self.kernels.values())
        shares = {part: seconds["tracing"] * value / whole for part, value in self.kernels.items()}
        return {stage: value for stage, value in seconds.items() if stage != "tracing" or not shares} | shares


def watch(clock: Clock) -> None:
    """Have a clock time imports, and all stages as soon as their modules are there."""
    load = SourceFileLoader.exec_module

    def wrap(holder: object, name: str, wrapper: Callable[[str, Callable[..., Any]], Any], label: str) -> None:
        setattr(holder, name, wrapper(label, getattr(holder, name)))

    def load_and_wrap(loader: SourceFileLoader, module: ModuleType) -> None:
        load(loader, module)
        for stage, place, path in STAGES:
            if place == module.__name__:
                *holders, name = path.split(".")
                wrap(getattr(module, holders[0]) if holders else module, name, clock.timed, stage)
        if module.__name__ == KERNELS:
            for name, part in PARTS.items():
                wrap(module, name, clock.shared, part)
        if module.__name__ == "sim.transport.shared_cache":
            wrap(module.SharedCache, "load_overload", clock.loading, "")  # type: ignore[attr-defined]

    SourceFileLoader.exec_module = clock.timed(IMPORTS, load_and_wrap)  # type: ignore[method-assign]


def inside(told: Path, started: float, words: list[str]) -> None:
    """Run the command in this process and write what its stages took."""
    clock = Clock()
    clock.seconds["start of Python"] = time.monotonic() - started
    watch(clock)
    sys.argv = ["vivray", *words]
    try:
        importlib.import_module("sim.cli").main()
    finally:
        told.write_text(json.dumps({**clock.finished(), "ended": time.monotonic()}), encoding="utf-8")


def one_run(words: list[str]) -> dict[str, Any]:
    """Return wall and processor time of the command in a fresh process [s], and its stages."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder, "told.json")
        before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
        command = [sys.executable, __file__, "--inside", str(told), repr(started), "run", *words]
        environment = os.environ | {"PYTHONPATH": str(ROOT)}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)  # or each run would compile all modules anew
        subprocess.run([*command, "--out", str(Path(folder, "out"))], env=environment, check=True, capture_output=True)
        ended, after = time.monotonic(), resource.getrusage(resource.RUSAGE_CHILDREN)
        found: dict[str, Any] = json.loads(told.read_text(encoding="utf-8"))
    stages = found["stages"] | {"end of Python": ended - found["ended"]}
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    rest = used - sum(found["worked"].values())
    worked = found["worked"] | {"pictures, elsewhere": rest}
    return {
        "seconds": ended - started,
        "processor_s": used,
        "stages": stages,
        "worked": worked,
        "kernels": found["kernels"],
    }


def measure(scene: Path, words: list[str], repeats: int) -> dict[str, Any]:
    """Return the fastest of some runs of a scene, and how long each took."""
    runs = [one_run([str(scene), *words, "--quiet"]) for _ in range(repeats)]
    fastest = min(runs, key=lambda run: float(run["seconds"]))
    return {"scene": scene.name, "all_seconds": [run["seconds"] for run in runs], **fastest}


def watched(scene: Path, words: list[str], repeats: int) -> dict[str, float]:
    """Return the median time from a save of a scene to its tables, its map and its report [s], while it is watched."""
    text = re.sub(r"(?m)^seed = .*$", "", scene.read_text(encoding="utf-8")).rstrip()
    with tempfile.TemporaryDirectory() as folder:
        saved = Path(shutil.copy(scene, folder))
        for name in re.findall(r'"([\w./-]+\.\w+)"', text):
            if (scene.parent / name).is_file():
                shutil.copy(scene.parent / name, folder)
        command = [sys.executable, "-m", "sim", "run", str(saved), *words, "--watch"]
        command += ["--quiet", "--out", str(Path(folder, "out"))]
        environment = os.environ | {"PYTHONPATH": str(ROOT)}
        stamp = Path(folder, "out", STAMP)
        found: dict[str, list[float]] = {"map": [], "tables": [], "report": []}
        with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as program:
            assert program.stdout is not None
            lines: SimpleQueue[Told] = SimpleQueue()
            threading.Thread(target=listen, args=(program.stdout, lines), daemon=True).start()
            told_at(lines, "report: ")
            for seed in range(101, 101 + repeats):
                time.sleep(SAVE_AFTER_S)
                started, before = time.monotonic(), stamp.stat().st_mtime_ns
                saved.write_text(f"{text}\nseed = {seed}\n", encoding="utf-8")
                while stamp.stat().st_mtime_ns == before and program.poll() is None:
                    time.sleep(LOOK_EVERY_S)
                found["map"].append(time.monotonic() - started)
                found["tables"].append(told_at(lines, ("Zones", "Sensors", "Surfaces")) - started)
                found["report"].append(told_at(lines, "report: ") - started)
            program.send_signal(signal.SIGINT)
    return {what: statistics.median(seconds) for what, seconds in found.items()}


def listen(stream: Iterable[str], lines: "SimpleQueue[Told]") -> None:
    """Note each line of a stream and when it came; the last is none."""
    for line in stream:
        lines.put((time.monotonic(), line))
    lines.put((time.monotonic(), None))


def told_at(lines: "SimpleQueue[Told]", start: str | tuple[str, ...]) -> float:
    """Return when a line was told that starts so."""
    while True:
        when, line = lines.get()
        if line is None:
            raise RuntimeError(f"the program ended before it told {start!r}")
        if line.startswith(start):
            return when


def print_table(found: dict[str, Any]) -> None:
    """Print the stages of a run, the longest first."""
    several = ", ".join(f"{seconds:.2f}" for seconds in found["all_seconds"])
    print(
        f"{found['scene']}: {found['seconds']:.2f} s ({several}), in which processors worked {found['processor_s']:.2f}"
    )
    stages, worked = found["stages"], found["worked"]
    for stage in sorted(stages | worked, key=lambda name: (-stages.get(name, 0.0), name)):
        seconds = stages.get(stage, 0.0)
        share = 100.0 * seconds / found["seconds"]
        print(f"  {stage:<20}{seconds:>7.2f} s {share:>5.1f} %   worked {worked.get(stage, 0.0):>5.2f} s")
    loaded = ", ".join(f"{name} {1000 * value:.0f} ms" for name, value in found["kernels"].items())
    print(f"  kernels loaded: {loaded}")
    seconds = found["watched"]
    told = ", ".join(f"to the {what} {seconds[what]:.2f} s" for what in ("map", "tables", "report"))
    print(f"  with --watch, from a save {told}")


def main() -> None:
    """Measure and print."""
    if sys.argv[1:2] == ["--inside"]:
        inside(Path(sys.argv[2]), float(sys.argv[3]), sys.argv[4:])
        return
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scenes", nargs="*", type=Path, help="scene files; three demo scenes by default")
    parser.add_argument("--error", default="1", metavar="PERCENT", help="go on until all zones have this error")
    parser.add_argument("--threads", default=str(os.cpu_count()))
    parser.add_argument("--no-pictures", action="store_true")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="a small scene and few photons: shows that it works")
    asked = parser.parse_args()
    scenes = asked.scenes or ([SMALLEST] if asked.quick else [ROOT / "scenes" / f"{name}.toml" for name in DEMOS])
    words = ["--threads", asked.threads, *(["--no-pictures"] if asked.no_pictures or asked.quick else [])]
    words += ["--histories", "1000"] if asked.quick else ["--error", asked.error]
    one_run([str(scenes[0]), *words, "--quiet"])  # compiles, or loads what was compiled
    repeats = 1 if asked.quick else asked.repeats
    rows = [measure(scene, words, repeats) | {"watched": watched(scene, words, repeats)} for scene in scenes]
    if asked.json:
        print(json.dumps({"command": rows}, indent=1))
        return
    for row in rows:
        print_table(row)


if __name__ == "__main__":
    main()
