"""What set-ups of lamps' readings brought, for programs that trace a scene again and again."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from sim.scene.model import Scene

FloatArray = npt.NDArray[np.float64]


class Readings:
    """Set-ups that were traced: one that nothing was changed in brings the very same numbers again."""

    def __init__(self) -> None:
        self._brought: dict[tuple[object, ...], FloatArray] = {}

    def brought(self, setup: Scene, how: tuple[object, ...], trace: Callable[[], FloatArray]) -> FloatArray:
        """Return what a set-up brings, traced only where it was not before.

        Parameters
        ----------
        setup : Scene
        how : tuple
            All else that the numbers depend on.
        trace : callable
            Returns them.
        """
        # The digest counts what files and the library hold, but takes lengths that differ in the last digits for equal.
        key = (setup.model_dump_json(), setup.digest, *how)
        if key not in self._brought:
            self._brought[key] = trace()
            self._brought[key].setflags(write=False)
        return self._brought[key]
