"""From a scene to arrays: the only place that knows both."""

from sim.compile.bodies import Bodies, compile_bodies
from sim.compile.compiled import CompiledScene
from sim.compile.scene import compile_scene

__all__ = ["Bodies", "CompiledScene", "compile_bodies", "compile_scene"]
