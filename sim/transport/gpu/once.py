"""How the card's kernels are compiled: each function goes to the compiler once, and each kernel is compiled once.

numba hands the code of a function to the compiler of cards as often as there are ways to it from the kernel, a thousand
modules where there are two hundred, and keeps all of them with what was compiled.

This rests on how numba-cuda 0.30 is built inside; `pyproject.toml` holds it to that.
"""

import importlib
from functools import cache
from typing import Any

from sim.transport.shared_cache import Waiting


@cache
def _cache_class() -> Any:  # pragma: no cover  # needs numba-cuda
    """Return the class of caches of the card's kernels, which numba loads for cards alone."""
    dispatcher: Any = importlib.import_module("numba.cuda.dispatcher")

    class Cache(Waiting, dispatcher.CUDACache):  # type: ignore[misc]  # numba's, which has no types
        def save_overload(self, sig: Any, data: Any) -> None:
            """Save machine code alone: what it was made of is thirty times as large."""
            library = data._codelibrary
            whole, library._llvm_strs = library._llvm_strs, []
            try:
                super().save_overload(sig, data)
            finally:
                library._llvm_strs = whole

    return Cache


def share_on_card(kernel: Any) -> None:  # pragma: no cover  # needs numba-cuda
    """Give a kernel of the card's a cache in which processes wait for one another."""
    kernel._cache = _cache_class()(kernel.py_func)


def _modules(library: Any) -> list[Any]:  # pragma: no cover  # needs numba-cuda
    """Return the code of a function and of all that it calls, directly or not."""
    found = {library._module: None}
    for called in library._linking_libraries:
        found |= dict.fromkeys(called.modules)
    return list(found)


def take_modules_once() -> None:  # pragma: no cover  # needs numba-cuda
    """Have numba count each module once, however many functions call what is in it."""
    codegen: Any = importlib.import_module("numba.cuda.codegen")
    codegen.CUDACodeLibrary.modules = property(_modules)
