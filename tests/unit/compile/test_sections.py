"""Receivers of sections: nobody looks at those that lie within bodies."""

from pathlib import Path

from sim.compile import compile_scene
from sim.compile.sections import gather_sections
from sim.scene.check import survey
from sim.scene.load import load_scene

SCENE = Path(__file__).resolve().parents[3] / "scenes" / "dry-ledge.toml"


def test_a_strip_within_bodies_gets_no_paths() -> None:
    compiled = compile_scene(survey(load_scene(SCENE)), gathering=gather_sections, plain=True).without_cells()
    strips = [group for group in compiled.groups if "section" in (group.detail or {})]
    within = [not compiled.area[strip.rows].any() for strip in strips]
    assert (True, True) == (any(within), not all(within))
    assert within == [not compiled.effort[strip.rows].any() for strip in strips]
