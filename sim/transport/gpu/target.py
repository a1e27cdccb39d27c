"""The door to the card: how functions of the CPU's kernels become functions of a card's kernels.

There is one source. `for_card` compiles a function of `sim.transport` anew for the card, and with it whatever it calls;
where the card needs a way of its own (the walk through the tree, adding to a tally), `stands_in_for` names the function
that takes the other's place.
"""

import hashlib
import importlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any, TypeVar, cast

from numba import config

from sim.transport import jit
from sim.transport.gpu.once import share_on_card, take_modules_once

Function = TypeVar("Function", bound=Callable[..., Any])

cuda: Any = importlib.import_module("numba.cuda")
"""What numba has for cards, which has no types."""
SOURCES = "sim.transport."
SIMULATED = bool(getattr(config, "ENABLE_CUDASIM"))  # noqa: B009  # numba sets its options at run time only
"""numba's simulator runs the card's code as Python (NUMBA_ENABLE_CUDASIM=1), for tests."""


def source_folder() -> Path:
    """Return where compiled kernels lie: in a folder named after all sources, those of the processor's kernels, too."""
    digest = hashlib.sha256(jit.cache_folder().name.encode())
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.name.encode() + source.read_bytes())
    return jit.cache_folder().with_name(f"card-{digest.hexdigest()[:16]}")


def card_is_compiled(name: str) -> bool:
    """Return whether a kernel that follows "paths", "photons" or such lies in the cache, as far as names can tell."""
    return SIMULATED or any(source_folder().rglob(f"*._{name}_*.nbc"))


if not SIMULATED and hasattr(cuda, "config"):
    # numba warns of every small step.
    cuda.config.CUDA_LOW_OCCUPANCY_WARNINGS = 0
    take_modules_once()
_folder = cache(source_folder)
_CACHED = {} if SIMULATED else {"cache": True}
_INLINED = {} if SIMULATED else {"forceinline": True}
_made: dict[FunctionType, Any] = {}


def _plain(value: object) -> FunctionType | None:
    """Return the Python function behind one of the CPU's kernels or helpers, or None for anything else."""
    function = getattr(value, "py_func", value)
    return function if isinstance(function, FunctionType) and function.__module__.startswith(SOURCES) else None


def card_helper(function: Function) -> Function:
    """Compile a function that the card's kernels call; it is inlined into them, for arrays in calls cost registers."""
    return cast(Function, cuda.jit(device=True, **_INLINED)(function))


def card_routine(function: Function) -> Function:
    """Compile a function that the card's kernels call and that may stay apart, see `stay_apart`."""
    return cast(Function, cuda.jit(device=True)(function))


def card_kernel(function: Callable[..., None], registers: int | None = None) -> Any:  # noqa: ANN401  # numba's launcher
    """Compile a function that Python starts on the card, once for each thread of a grid.

    A thread gets as many registers as its compiler likes, or no more than a number.
    """
    options = _CACHED if SIMULATED or registers is None else {**_CACHED, "max_registers": registers}
    if SIMULATED or not jit.OWN_CACHE:
        return cuda.jit(**options)(function)
    # One setting serves the processor's kernels, too, and is looked at just here.
    before = getattr(config, "CACHE_DIR")  # noqa: B009  # numba sets its options at run time only
    setattr(config, "CACHE_DIR", str(_folder()))  # noqa: B010
    try:
        kernel = cuda.jit(**options)(function)
        share_on_card(kernel)
        return kernel
    finally:
        setattr(config, "CACHE_DIR", before)  # noqa: B010


def with_names(function: Callable[..., object], suffix: str, **names: object) -> FunctionType:
    """Return a copy of a function, with a suffix to its name, in which global names stand for other things.

    A function within a function would do the same, but what it takes from there keeps it from numba's cache.
    """
    plain = cast(FunctionType, function)
    copy = FunctionType(plain.__code__, {**plain.__globals__, **names}, plain.__name__ + suffix, plain.__defaults__)
    copy.__module__, copy.__qualname__ = plain.__module__, plain.__qualname__ + suffix
    return copy


def stands_in_for(
    original: Callable[..., Any], compiled: Callable[[Any], Any] = card_helper
) -> Callable[[Function], Function]:
    """Let the decorated function be called on the card wherever the CPU's code calls the original."""

    def decorate(function: Function) -> Function:
        made: Function = compiled(function)
        plain = _plain(original)
        assert plain is not None, "only functions of kernels have stand-ins"
        _made[plain] = made
        return made

    return decorate


def for_card(function: Callable[..., Any]) -> Any:  # noqa: ANN401  # takes the card's own kinds of tree and tally
    """Return one of the CPU's functions, and with it whatever it calls, for the card's kernels."""
    return _translated(function)


def _translated(value: object) -> Any:  # noqa: ANN401  # whatever a global variable may be
    plain = _plain(value)
    if plain is None:
        return value
    if plain not in _made:
        names = dict(plain.__globals__)
        for name in plain.__code__.co_names:
            if name in names:
                names[name] = _translated(names[name])
        copy = FunctionType(plain.__code__, names, plain.__name__, plain.__defaults__)
        copy.__module__, copy.__qualname__ = plain.__module__, plain.__qualname__
        _made[plain] = card_helper(copy)
    return _made[plain]
