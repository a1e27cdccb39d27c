"""Every way of working on sixteen numbers at once gives the same triangle and the same distance, to the last bit."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sim.transport.jit import VECTORS
from tests.support.hit_bits import hit_bits
from tests.support.sizes import COMPILED

pytestmark = pytest.mark.slow  # compiles the tree for each way, when it has not yet

ROOT = Path(__file__).resolve().parents[3]


def told(triangles: int, rays: int, **environment: str) -> tuple[str, str]:
    """Way and digest of a process of its own."""
    command = [sys.executable, "-m", "tests.support.hit_bits", str(triangles), str(rays)]
    child = subprocess.run(command, cwd=ROOT, env=os.environ | environment, capture_output=True, text=True, check=False)
    assert (0, "") == (child.returncode, child.stderr)
    way, digest = child.stdout.split()
    return way, digest


@pytest.mark.skipif(not COMPILED, reason="without compilation there is one way")
@pytest.mark.parametrize(
    ("way", "environment"),
    [
        ("plain", {"VIVRAY_VECTORS": "plain"}),
        ("vector", {"VIVRAY_VECTORS": "vector"}),
        ("vector", {"NUMBA_CPU_NAME": "haswell", "NUMBA_CPU_FEATURES": "+avx,+avx2,+fma,+bmi,+bmi2,+popcnt"}),
        ("vector", {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": ""}),
    ],
)
def test_other_ways_give_the_same_bits(way: str, environment: dict[str, str]) -> None:
    mine = hit_bits(700, 20_000)
    assert f"{VECTORS} {told(700, 20_000, **environment)[1]}" == mine
    assert way == told(20, 5, **environment)[0]


@pytest.mark.skipif(not COMPILED, reason="compares with compiled code")
def test_plain_python_gives_the_same_bits() -> None:
    assert f"{VECTORS} {told(40, 20, NUMBA_DISABLE_JIT='1')[1]}" == hit_bits(40, 20)
