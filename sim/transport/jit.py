"""The one decorator of every kernel, and where compiled kernels are kept.

numba's cache notices an edit of a function's own file only; a kernel that inlines a function of another file would
go on running the old code. So compiled kernels lie in a folder named after the sources of all kernels together.
"""

import hashlib
import os
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any, TypeVar, cast

import numba
from llvmlite import binding
from numba.core.registry import CPUDispatcher

from sim.transport.linking import PartCompiler, WholeCompiler
from sim.transport.shared_cache import share

Function = TypeVar("Function", bound=Callable[..., Any])


def _setting(name: str) -> object:
    """Return an option of numba, which it sets at run time only."""
    return getattr(numba.config, name)


def _features() -> str:
    """Return what the processor can do, as numba sees it."""
    features = _setting("CPU_FEATURES")
    return str(binding.get_host_cpu_features().flatten() if features is None else features)


def _vectors() -> str:
    """Return how kernels work on sixteen numbers at once: "avx512", "vector" (left to LLVM) or "plain"."""
    asked = os.environ.get("VIVRAY_VECTORS", "")
    if _setting("DISABLE_JIT") or asked == "plain":
        return "plain"
    able = {"+avx512f", "+avx512bw", "+avx512vl"} <= set(_features().split(","))
    return "avx512" if able and asked != "vector" else "vector"


VECTORS = _vectors()
"""All give the same bits; VIVRAY_VECTORS takes a slower one, for tests."""


def cache_folder() -> Path:
    """Return where compiled kernels lie."""
    machine = f"{binding.get_host_cpu_name()} {_features()} {VECTORS}"
    digest = hashlib.sha256(f"{numba.__version__} {sys.version_info[:2]} {machine}".encode())
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.name.encode() + source.read_bytes())
    base = os.environ.get("VIVRAY_CACHE") or os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "vivray" / f"kernels-{digest.hexdigest()[:16]}"


OWN_CACHE = not os.environ.get("NUMBA_CACHE_DIR")
"""Whether nobody has named another folder for all that numba compiles."""
if OWN_CACHE:
    setattr(numba.config, "CACHE_DIR", str(cache_folder()))  # noqa: B010  # numba sets its options at run time only


_KERNEL: dict[str, Any] = {"error_model": "numpy", "no_cfunc_wrapper": True}
_FROM_KERNELS: dict[str, Any] = _KERNEL | {"no_cpython_wrapper": True, "pipeline_class": PartCompiler}
"""What unpacks the arguments of Python would be most of the code of a small function, and of the time to compile it."""
_BORROWED: dict[str, Any] = {"_nrt": False}
"""Helpers and routines borrow the arrays of their callers: counting references took longer than rays do."""


class _Within(CPUDispatcher):
    """What kernels find compiled, and Python as it is written, since there is no door into the compiled code."""

    def __call__(self, *arguments: Any) -> Any:  # noqa: ANN401  # those of the function
        return self.py_func(*arguments)

    def add_overload(self, compiled: Any) -> None:  # noqa: ANN401  # numba's
        """Keep what was compiled for kernels alone; Python would ask for an address."""
        self.overloads[tuple(compiled.signature.args)] = compiled


def _within(function: Function, **options: Any) -> Function:  # noqa: ANN401  # numba's
    compiled = numba.njit(**_FROM_KERNELS, **options)(function)
    if isinstance(compiled, CPUDispatcher):
        compiled.__class__ = _Within
    return cast(Function, compiled)


def helper(function: Function) -> Function:
    """Compile a function that kernels call; LLVM inlines it into them."""
    return _within(function, forceinline=True, **_BORROWED)


def routine(function: Function) -> Function:
    """Compile a function that kernels call but that is too large to be copied into each caller."""
    return _within(function, **_BORROWED)


@helper
def variable(value: int) -> int:
    """Return an integer that types tell nothing of but that it is one.

    What starts as a literal and changes later would have all that takes it compiled for the literal, and then again.
    """
    return value + 0


def maker(function: Function) -> Function:
    """Compile a function that kernels call once at their start for arrays of their own."""
    return _within(function)


def kernel(function: Function) -> Function:
    """Compile a function that Python calls, on several threads at once if it likes: the GIL is released.

    Each call works on a range of lanes (replicates, or replicate and receiver) that no other call touches, so results
    cannot depend on the count of threads. Plain threads instead of numba's ``parallel=True`` halve compile time, take
    tuples of tuples, and leave Ctrl-C and progress to Python.
    """
    compiled = numba.njit(nogil=True, pipeline_class=WholeCompiler, **_KERNEL)(function)
    if isinstance(compiled, CPUDispatcher):
        share(compiled)
    return cast(Function, compiled)


def is_compiled(*names: str) -> bool:
    """Return whether kernels of these names lie in the cache, as far as names can tell."""
    if _setting("DISABLE_JIT"):
        return True
    folder = Path(str(_setting("CACHE_DIR")))
    return all(any(folder.rglob(f"*.{name}-*.nbc")) for name in names)


def without_compiling(*modules: ModuleType) -> None:
    """Have modules call their kernels as plain Python, for work so small that it is done sooner than they compile."""
    for module in modules:
        for name, value in list(vars(module).items()):
            if isinstance(value, CPUDispatcher) and not isinstance(value, _Within):
                setattr(module, name, value.py_func)


def without_linear_algebra() -> None:
    """Spare this process what numba would load with its first kernel for linear algebra, which ours do without.

    That is a third of a second of scipy's. It is for programs of our own: later code of the same process that numba
    compiles has no ``numpy.dot``.
    """
    from numba.np import linalg

    def none() -> None:
        raise ImportError("no kernel of ours uses linear algebra")

    setattr(linalg, "ensure_blas", none)  # noqa: B010  # numba has no option for it
