"""When a run that goes on for long shows what it knows so far."""

import time
from collections.abc import Callable

WORTH_S = 1.0
"""A glimpse takes a quarter of a second to show, and is worth it where what is left to trace takes longer than this."""

RARER = 4.0


class Glimpses:
    """Looks at a run under way: at the first chance, and then each time it has taken `RARER` times as long.

    Parameters
    ----------
    show : callable
        Shows what is known.
    """

    def __init__(self, show: Callable[[], None]) -> None:
        self._show = show
        self._started = time.monotonic()
        self._next_s = 0.0

    def offer(self, share: float) -> None:
        """Show what is known if it is time to.

        Parameters
        ----------
        share : float
            Of the run that is done, as far as that is known; zero if it is not.
        """
        taken = time.monotonic() - self._started
        if share > 0.0 and taken >= self._next_s and taken * (1.0 - share) > WORTH_S * share:
            self._show()
            self._next_s = RARER * (time.monotonic() - self._started)
