"""The scenes in ``scenes/``: each says what it shows and passes its check without a word."""

from pathlib import Path

import pytest

from sim.scene.check import check
from sim.scene.load import load_scene

FOLDER = Path(__file__).resolve().parents[3] / "scenes"
SCENES = sorted(FOLDER.glob("*.toml"))


def opening_comment(path: Path) -> str:
    lines = path.read_text(encoding="utf-8").splitlines()
    head = next(index for index, line in enumerate(lines) if not line.startswith("#"))
    return "\n".join(lines[:head])


def test_the_scenes_differ_in_kind() -> None:
    kinds = {lamp.kind for path in SCENES for lamp in load_scene(path).lamps}
    assert {"tube", "compact", "panel", "spot"} == kinds
    targets = [zone.target for path in SCENES for zone in load_scene(path).zones if zone.target is not None]
    assert {1, 2, 3} == {target.exposure_zone for target in targets} - {None}


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
class TestEveryScene:
    def test_it_passes_its_check_without_error_or_warning(self, path: Path) -> None:
        assert [] == check(load_scene(path))

    def test_it_begins_with_what_it_shows_and_that_it_is_invented(self, path: Path) -> None:
        comment = opening_comment(path)
        assert comment.startswith("# Shows: ")
        assert "\n# Lesson: " in comment
        assert "invented" in comment

    def test_it_judges_a_refuge_if_it_judges_anything(self, path: Path) -> None:
        roles = {zone.role for zone in load_scene(path).zones}
        assert not roles or {"basking", "refuge"} <= roles
