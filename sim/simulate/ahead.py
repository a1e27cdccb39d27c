"""``python -m sim.simulate.ahead KERNEL ...``: compile kernels of a run, in this order.

A run that finds no compiled kernels has this program started beside it, with those that it needs last. Where the two
meet, the cache has one wait for the other (`sim.transport.shared_cache`), so that each kernel is compiled once. What a
kernel is compiled for are the types of its arguments, which are the same for every scene.
"""

import gc
import sys
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from sim.compile import compile_scene
from sim.scene.check import survey
from sim.scene.model import Scene
from sim.simulate import trace
from sim.simulate.tallies import empty_tallies
from sim.transport import tree_build, tree_pairs
from sim.transport.arrays import BY_LINKS, BY_PATHS
from sim.transport.jit import without_compiling

KERNELS = ("gather_direct", "trace_photons", "gather_paths", "gather_links")
"""All that this program knows, in the order in which a run comes to need them."""
PHOTONS = 64
SCENE = """
title = "The smallest scene that has all kernels work"
[enclosure]
size = ["20 cm", "20 cm", "20 cm"]
walls = { all = "melamine-white" }
[[lamps]]
name = "lamp"
kind = "panel"
corner = ["5 cm", "5 cm", "18 cm"]
edge_u = ["0 cm", "9 cm", "0 cm"]
edge_v = ["9 cm", "0 cm", "0 cm"]
spectrum = "uvb-phosphor-306"
output = { radiant = "1 W" }
[[sensors]]
name = "plane"
kind = "grid"
corner = ["5 cm", "5 cm", "5 cm"]
edge_u = ["9 cm", "0 cm", "0 cm"]
edge_v = ["0 cm", "9 cm", "0 cm"]
cells = [1, 1]
"""


def main(wanted: list[str]) -> None:
    """Compile some kernels, each by a step of a run that calls no other."""
    gc.disable()  # which, with all that compilers make and keep, took a tenth of the time
    without_compiling(tree_build, tree_pairs)
    seen = survey(Scene.model_validate(tomllib.loads(SCENE), context={"folder": Path()}))
    compiled = compile_scene(seen, only_sensors=True)
    kernels = {name: getattr(trace, name) for name in KERNELS}
    with ThreadPoolExecutor(1) as pool:
        for only in wanted:
            for name, kernel in kernels.items():
                setattr(trace, name, kernel if name == only else _nothing)
            way = BY_PATHS if only == "gather_paths" else BY_LINKS
            by = compiled.with_ways(np.full(len(compiled.model.planes.cells), way))
            trace.Tracer(by, empty_tallies(compiled), 1, pool).step(0, PHOTONS)


def _nothing(*arguments: object) -> None:
    pass


if __name__ == "__main__":
    main(sys.argv[1:])
