"""A window with a result to turn around."""

from sim.tally.result import Result
from viewer.cameras import View
from viewer.stage import new_plotter, set_up


def show(result: Result, quantity: str = "uvi", size: tuple[int, int] = (1200, 800), camera: View = "corner") -> None:
    """Open a window and return when it is closed; parameters as in `viewer.snapshot.picture`.

    Walls are seen from within only, so the inside stays open from every side.
    """
    plotter = new_plotter(size, off_screen=False)
    set_up(plotter, result, quantity, camera, size)
    plotter.show()
