"""``python -m viewer.for_page``: what it draws in one go is what is drawn one by one; without a request it ends."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from sim.analysis.selection import Selection
from tests.support.synthetic_result import terrarium
from viewer.gl import NoGLError, require_gl

pytestmark = pytest.mark.viewer

ROOT = Path(__file__).resolve().parents[3]
SIZE = (700, 520)
"""Of pictures [px]; not the size that the program gets ready with."""


def asked(words: str) -> None:
    command = [sys.executable, "-m", "viewer.for_page"]
    child = subprocess.run(command, cwd=ROOT, input=words, capture_output=True, text=True, check=False)
    assert (0, "", "") == (child.returncode, child.stdout, child.stderr)


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
    files = {name: tmp_path / f"{name}.png" for name in looks}
    pictures = [
        {"out": str(files["corner"]), "camera": "corner", "cut": None},
        {"out": str(files["cut"]), "camera": "front", "cut": [1, 0.25]},
    ]
    asked(json.dumps({"result": str(tmp_path / "result.npz"), "size": SIZE, "pictures": pictures}) + "\n")
    for name, look in looks.items():
        picture(Selection(result), tmp_path / "alone.png", look, SIZE, force=True)
        assert (tmp_path / "alone.png").read_bytes() == files[name].read_bytes(), name
    assert files["corner"].read_bytes() != files["cut"].read_bytes()


def test_without_a_request_it_ends() -> None:
    asked("")
