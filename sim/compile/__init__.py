"""From a scene to arrays: the only place that knows both."""

from sim.compile.compiled import CompiledScene
from sim.compile.scene import compile_scene

__all__ = ["CompiledScene", "compile_scene"]
