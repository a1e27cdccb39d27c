"""Functions become parts of kernels: linked in whatever order they call each other, hidden, and with no code apart."""

import numba
import numpy as np
import pytest
from llvmlite import binding

from sim.transport.arrays import F64
from sim.transport.jit import helper, routine
from sim.transport.linking import Part, Whole, WholeCompiler
from tests.support.sizes import COMPILED

pytestmark = pytest.mark.skipif(not COMPILED, reason="nothing is linked without compilation")


@routine
def lowest(values: F64) -> float:
    """At the bottom, with a function of numba's below it."""
    least = np.inf
    for value in values:
        least = min(least, value)
    return least


@helper
def halved(values: F64, times: int) -> float:
    """Between: calls what its caller calls, too."""
    return 0.5**times * lowest(values)


def _entry(values: F64, times: int) -> float:
    return lowest(values) + halved(values, times) + halved(values[1:], 1)


@pytest.fixture(scope="module")
def whole() -> Whole:
    """Return the code of a kernel that was compiled here, not read from the cache."""
    compiled = numba.njit(pipeline_class=WholeCompiler, error_model="numpy")(_entry)
    assert 3.0 + 0.75 + 2.5 == compiled(np.array([3.0, 8.0, 5.0]), 2)
    (result,) = compiled.overloads.values()
    assert isinstance(result.library, Whole)
    return result.library


def test_only_the_kernel_is_seen_from_outside(whole: Whole) -> None:
    seen = [function.name for function in whole.get_defined_functions() if function.linkage != binding.Linkage.internal]
    assert seen
    assert all("_entry" in name for name in seen), seen


@pytest.mark.parametrize("function", [lowest, halved])
def test_what_kernels_call_has_no_machine_code(function: numba.core.registry.CPUDispatcher, whole: Whole) -> None:
    overloads = list(function.overloads.values())
    assert overloads
    for overload in overloads:
        part = overload.library
        assert isinstance(part, Part)
        assert not part.codegen._engine.is_symbol_defined(overload.fndesc.llvm_func_name)


def test_a_literal_has_nothing_compiled_for_itself(whole: Whole) -> None:
    assert [numba.int64] == [arguments[1] for arguments in halved.overloads]  # type: ignore[attr-defined]


def test_from_python_it_runs_as_python() -> None:
    assert 0.25 * 5.0 == halved(np.array([8.0, 5.0]), 2)
