"""How large a test is: full where kernels are compiled, tiny where they run as plain Python."""

import numba

COMPILED: bool = not numba.config.DISABLE_JIT


def sized(full: int, tiny: int) -> int:
    """Return a count for the mode that kernels run in."""
    return full if COMPILED else tiny
