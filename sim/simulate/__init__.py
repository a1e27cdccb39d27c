"""Tracing a scene to a result: replicates, stop rule, progress, checkpoint and resume."""

from sim.simulate.run import Interrupted, Progress, simulate

__all__ = ["Interrupted", "Progress", "simulate"]
