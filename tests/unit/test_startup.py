"""The command line answers at once: help and `check` load none of the heavy libraries."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ["matplotlib", "numba", "pyvista", "scipy", "trimesh"]

# Runs the command in-process, then reports its exit code and which heavy libraries it left in memory.
PROBE = f"""
import json, sys
import sim.cli
code = 0
if len(sys.argv) > 1:
    try:
        sim.cli.main()
    except SystemExit as stop:
        code = stop.code or 0
loaded = [name for name in {HEAVY!r} if name in sys.modules]
sys.stdout.write("\\n" + json.dumps({{"code": code, "loaded": loaded}}) + "\\n")
"""


def probe(*arguments: str, code: str = PROBE) -> dict[str, object]:
    child = subprocess.run(
        [sys.executable, "-c", code, *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert child.returncode == 0, child.stderr
    report: dict[str, object] = json.loads(child.stdout.splitlines()[-1])
    return report


@pytest.mark.parametrize("arguments", [(), ("--help",), ("--version",)], ids=["import", "help", "version"])
def test_cli_loads_nothing_heavy(arguments: tuple[str, ...]) -> None:
    assert probe(*arguments) == {"code": 0, "loaded": []}


def test_check_loads_nothing_heavy() -> None:
    scene = min((ROOT / "scenes").glob("*.toml"), default=None)
    if scene is None:
        pytest.skip("no scene file yet")
    assert probe("check", str(scene)) == {"code": 0, "loaded": []}


def test_a_run_without_a_report_loads_no_more_than_it_needs() -> None:
    scene = str(ROOT / "scenes" / "free-tube.toml")
    # numba looks at the version of scipy, which is no trouble; its linear algebra is.
    code = PROBE.replace(repr(HEAVY), repr(["matplotlib", "numba", "pyvista", "scipy.linalg", "trimesh"]))
    found = probe("run", scene, "--histories", "1", "--threads", "1", "--quiet", code=code)
    assert found == {"code": 0, "loaded": ["numba"]}


def test_a_run_whose_kernels_are_compiled_loads_no_compiler() -> None:
    # One of numba's many modules that tell how to compile something.
    code = PROBE.replace(repr(HEAVY), repr(["numba", "numba.np.polynomial"]))
    words = ("run", str(ROOT / "scenes" / "free-tube.toml"), "--histories", "1", "--threads", "1", "--quiet")
    probe(*words)
    assert probe(*words, code=code) == {"code": 0, "loaded": ["numba"]}


@pytest.mark.parametrize(
    ("makers", "loaded"), [("", []), ("'sim.report.page'", ["matplotlib"]), ("'sim.report.nothing'", ["matplotlib"])]
)
def test_what_makes_a_page_is_loaded_when_the_kernels_are_done(makers: str, loaded: list[str]) -> None:
    block = f"from sim.commands.page_ahead import page_ahead\nwith page_ahead({makers}):\n    pass"
    assert {"code": 0, "loaded": loaded} == probe(code=PROBE.replace("import sim.cli", block))


def test_probe_sees_a_heavy_library() -> None:
    code = PROBE.replace("import sim.cli", "import scipy")
    assert probe(code=code) == {"code": 0, "loaded": ["scipy"]}
