"""vivray: ray-traced ultraviolet light in reptile enclosures.

What a script needs::

    from sim import load_scene, simulate

    result = simulate(load_scene("scenes/dry-ledge.toml"), error=0.01, threads=2)
    result.save(Path("result.npz"))

Names are looked up when they are asked for, so that importing the package loads neither numba nor a tracer.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sim.scene.load import load_scene
    from sim.simulate import simulate
    from sim.tally.result import Result, load_result

_PLACES = {
    "Result": "sim.tally.result",
    "load_result": "sim.tally.result",
    "load_scene": "sim.scene.load",
    "simulate": "sim.simulate.run",
}

__all__ = ["Result", "load_result", "load_scene", "simulate"]


def __getattr__(name: str) -> Any:  # noqa: ANN401  # whatever the name stands for
    if name not in _PLACES:
        raise AttributeError(f"module 'sim' has no attribute '{name}'")
    return getattr(import_module(_PLACES[name]), name)
