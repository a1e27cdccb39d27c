"""The one decorator of every kernel, and where compiled kernels are kept.

numba's cache notices an edit of a function's own file only; a kernel that inlines a function of another file would
go on running the old code. So compiled kernels lie in a folder named after the sources of all kernels together.
"""

import hashlib
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., Any])


def _cache_folder() -> Path:
    digest = hashlib.sha256(f"{numba.__version__} {sys.version_info[:2]}".encode())
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.name.encode() + source.read_bytes())
    base = os.environ.get("VIVRAY_CACHE") or os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "vivray" / f"kernels-{digest.hexdigest()[:16]}"


if not os.environ.get("NUMBA_CACHE_DIR"):
    setattr(numba.config, "CACHE_DIR", str(_cache_folder()))  # noqa: B010  # numba sets its options at run time only


def helper(function: Function) -> Function:
    """Compile a function that kernels call; LLVM inlines it into them."""
    return cast(Function, numba.njit(error_model="numpy", forceinline=True)(function))


def routine(function: Function) -> Function:
    """Compile a function that kernels call but that is too large to be copied into each caller."""
    return cast(Function, numba.njit(error_model="numpy")(function))


def kernel(function: Function) -> Function:
    """Compile a function that Python calls, on several threads at once if it likes: the GIL is released.

    Each call works on a range of lanes (replicates, or replicate and receiver) that no other call touches, so results
    cannot depend on the count of threads. Plain threads instead of numba's ``parallel=True`` halve compile time, take
    tuples of tuples, and leave Ctrl-C and progress to Python.
    """
    return cast(Function, numba.njit(error_model="numpy", nogil=True, cache=True)(function))
