"""What makes a page, loaded while kernels trace."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from importlib import import_module

from sim.report.without_manual import without_manual


@contextmanager
def page_ahead(*makers: str) -> Iterator[None]:
    """Load modules that make a page beside the block, and be done with it when the block ends.

    Kernels leave the interpreter free for it. What cannot be loaded says so where it is needed.
    """
    with ThreadPoolExecutor(max_workers=1) as beside:
        if makers:
            beside.submit(_load, makers)
        yield


def _load(makers: tuple[str, ...]) -> None:
    without_manual()
    for maker in makers:
        import_module(maker)
