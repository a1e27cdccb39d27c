"""``python -m sim.simulate.ahead_on_card KERNEL ...``: compile the card's kernels of a run, in this order.

As `sim.simulate.ahead` does the processor's, and as there for the smallest scene: types are those of every scene. Its
walls are of glass, for which photons need the room for bands that they need in all scenes that are not grey.
"""

import gc
import sys
import tomllib
from pathlib import Path

import numpy as np

from sim.compile import compile_scene
from sim.scene.check import survey
from sim.scene.model import Scene
from sim.simulate.ahead import PHOTONS, SCENE
from sim.transport import tree_build, tree_pairs
from sim.transport.gpu import tree
from sim.transport.gpu.card import Card
from sim.transport.jit import without_compiling

_GREY, _GLASS = '"melamine-white"', '"glass-clear-4mm"'


def main(wanted: list[str]) -> None:
    """Compile some kernels, each by a few of what it follows."""
    gc.disable()
    without_compiling(tree_build, tree_pairs, tree)
    scene = Scene.model_validate(tomllib.loads(SCENE.replace(_GREY, _GLASS)), context={"folder": Path()})
    compiled = compile_scene(survey(scene))
    card = Card(compiled.model, 1, len(compiled.effort))
    receivers = len(compiled.model.receivers.origin)
    none, one, whole = np.zeros(receivers, dtype=np.int64), np.ones(receivers, dtype=np.int64), np.ones(receivers) > 0.0
    for kernel in wanted:
        if kernel == "photons":
            card.photons(0, 0, PHOTONS, 0)
        else:
            follow = card.paths if kernel == "paths" else card.direct
            follow(0, none, one, whole, 0)


if __name__ == "__main__":
    main(sys.argv[1:])
