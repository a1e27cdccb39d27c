"""What fixtures are called where several are told of."""

from collections.abc import Sequence
from dataclasses import replace

from sim.analysis.fixture import FixtureTrace


def name_of(trace: FixtureTrace) -> str:
    """Return what a fixture is called: its lamp, and the finish where that is not its own."""
    return f"{trace.lamp}, reflectors of {trace.finish}" if trace.finish else trace.lamp


def told_apart(traces: Sequence[FixtureTrace]) -> list[FixtureTrace]:
    """Return fixtures whose lamps carry the name of their scene file, too, where they come from several."""
    if len({trace.scene for trace in traces}) == 1:
        return list(traces)
    return [replace(trace, lamp=f"{trace.lamp} of {trace.scene}") for trace in traces]
