"""A window with a result to turn around."""

from sim.analysis.selection import Selection
from viewer.stage import Look, new_plotter, set_up


def show(shown: Selection, look: Look, size: tuple[int, int] = (1200, 800)) -> None:
    """Open a window and return when it is closed; parameters as in `viewer.snapshot.picture`.

    Walls are seen from within only, so the inside stays open from every side.
    """
    plotter = new_plotter(size, off_screen=False)
    set_up(plotter, shown, look, size)
    plotter.show()
