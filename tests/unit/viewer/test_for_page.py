"""``python -m viewer.for_page``: what it draws in one go is what is drawn one by one; without a request it ends."""

import json
import subprocess
import sys
from base64 import b64decode
from pathlib import Path

import pytest

from sim.analysis.selection import Selection
from tests.support.synthetic_result import terrarium
from viewer.gl import NoGLError, require_gl

pytestmark = pytest.mark.viewer

ROOT = Path(__file__).resolve().parents[3]
SIZE = (700, 520)
"""Of pictures [px]; not the size that the program gets ready with."""


def answer(words: str) -> str:
    command = [sys.executable, "-m", "viewer.for_page"]
    child = subprocess.run(command, cwd=ROOT, input=words, capture_output=True, text=True, check=False)
    assert (0, "") == (child.returncode, child.stderr)
    return child.stdout


def test_pictures_of_one_go_are_those_of_each_alone(tmp_path: Path) -> None:
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    from viewer.cutting import Cut
    from viewer.snapshot import picture
    from viewer.stage import Look

    result = terrarium(replicates=4)
    result.save(tmp_path / "result.npz")
    looks = {"corner": Look("corner"), "cut": Look("front", Cut(1, 0.25))}
    pictures = [{"camera": "corner", "cut": None}, {"camera": "front", "cut": [1, 0.25]}]
    request = {"result": str(tmp_path / "result.npz"), "size": SIZE, "pictures": pictures}
    drawn = [b64decode(png) for png in json.loads(answer(json.dumps(request) + "\n"))]
    for png, (name, look) in zip(drawn, looks.items(), strict=True):
        picture(Selection(result), tmp_path / "alone.png", look, SIZE, force=True)
        assert (tmp_path / "alone.png").read_bytes() == png, name
    assert drawn[0] != drawn[1]


def test_without_a_request_it_ends() -> None:
    assert "" == answer("")
