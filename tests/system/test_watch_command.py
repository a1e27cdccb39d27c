"""`vivray run --watch` from outside: each save gives the numbers of a fresh run, and nothing of the user's is lost."""

import re
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sim.report.watched_page import STAMP, resting
from tests.support.scene_text import altered
from tests.support.terminal import Terminal, command
from viewer.gl import NoGLError, require_gl

pytestmark = pytest.mark.system

READING = altered('output = { radiant = "1.5 W" }', 'output = { uvi = 3.0, at = "30 cm", setting = "fixture" }')
LEDGE, HIGHER = 'corner = ["80 cm", "20 cm", "20 cm"]', 'corner = ["80 cm", "20 cm", "24 cm"]'
RADIUS, THICKER = 'radius = "8 mm"', 'radius = "10 mm"'
FILES = {"result.npz", "report.html", "summary.json", "receivers.csv"}
WATCHING = r"watching scene\.toml; Ctrl-C ends"
ENDLESS = "histories = 1000000000000"
UNDER_WAY = "This run is under way"

Start = Callable[..., Terminal]


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "scene.toml"
    path.write_text(READING, encoding="utf-8")
    return path


@pytest.fixture
def start() -> Iterator[Start]:
    """What starts a command on a terminal; it is ended with the test."""
    begun: list[Terminal] = []

    def started(*words: str | Path) -> Terminal:
        begun.append(Terminal(command("run", *words), stdout=True))
        return begun[-1]

    yield started
    for terminal in begun:
        terminal.close()


def fresh(start: Start, scene: Path, out: Path) -> bytes:
    """Return the result of a run of its own."""
    assert 0 == start(scene, "--out", out, "--error", "20", "--no-pictures", "--quiet").ended()
    return (out / "result.npz").read_bytes()


@pytest.mark.slow
def test_each_save_gives_the_numbers_of_a_fresh_run(start: Start, scene: Path, tmp_path: Path) -> None:
    texts = [READING, READING.replace(LEDGE, HIGHER), READING.replace(RADIUS, THICKER), READING]
    out, found = tmp_path / "out", []
    watching = start(scene, "--out", out, "--error", "20", "--watch", "--no-pictures")
    for turn, text in enumerate(texts, start=1):
        if turn > 1:
            scene.write_text(text, encoding="utf-8")
        watching.wait_for(WATCHING, turn)
        found.append((out / "result.npz").read_bytes())
    assert found[0] == found[3]
    assert 3 == len(set(found))
    for turn, text in enumerate(texts[:3]):
        scene.write_text(text, encoding="utf-8")
        assert found[turn] == fresh(start, scene, tmp_path / f"fresh {turn}")


def test_what_the_change_brought_is_told(start: Start, scene: Path) -> None:
    watching = start(scene, "--histories", "64000", "--watch")
    watching.wait_for(WATCHING)
    assert "What the change brought" not in watching.shown
    scene.write_text(READING.replace(LEDGE, HIGHER), encoding="utf-8")
    # Four centimetres nearer to the lamp is brighter by far more than the noise.
    watching.wait_for(r"What the change brought(?s:.)*?\nbasking .* yes")
    watching.wait_for(WATCHING, 2)


def test_ctrl_c_while_it_waits_ends_it_well_and_leaves_files_as_of_any_run(
    start: Start, scene: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    watching = start(scene, "--out", out, "--error", "20", "--watch", "--no-pictures")
    watching.wait_for(WATCHING)
    assert FILES | {STAMP} == {path.name for path in out.iterdir()}
    assert "<script>" in (out / "report.html").read_text(encoding="utf-8")
    watching.process.send_signal(signal.SIGINT)
    assert 0 == watching.ended()
    assert FILES == {path.name for path in out.iterdir()}
    assert "<script>" not in (out / "report.html").read_text(encoding="utf-8")


def test_ctrl_c_while_it_traces_stops_the_run_and_ends(start: Start, scene: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    watching = start(scene, "--out", out, "--histories", "1e12", "--watch", "--no-pictures")
    watching.wait_for(r"0\.[1-9]\d* million photons")
    watching.process.send_signal(signal.SIGINT)
    assert 130 == watching.ended()
    assert "interrupted: the numbers above are those traced so far" in watching.shown
    assert FILES | {"unfinished.npz"} == {path.name for path in out.iterdir()}


def test_a_save_while_it_traces_begins_again_at_once(start: Start, scene: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    scene.write_text(READING.replace("histories = 1000", ENDLESS), encoding="utf-8")
    watching = start(scene, "--out", out, "--watch", "--no-pictures")
    watching.wait_for(r"0\.[1-9]\d* million photons")
    scene.write_text(READING, encoding="utf-8")
    watching.wait_for(WATCHING)
    assert watching.shown.count("Zones") == 1
    assert FILES | {STAMP} == {path.name for path in out.iterdir()}


def test_a_long_run_shows_its_numbers_meanwhile_and_a_whole_page_comes_back_in_the_end(
    start: Start, scene: Path, tmp_path: Path
) -> None:
    page = tmp_path / "out" / "report.html"
    watching = start(scene, "--out", page.parent, "--watch", "--no-pictures")
    watching.wait_for(WATCHING)
    whole = {path.name: path.read_bytes() for path in page.parent.iterdir()}
    scene.write_text(READING.replace("histories = 1000", ENDLESS), encoding="utf-8")
    watching.wait_until(lambda: UNDER_WAY in page.read_text(encoding="utf-8"))
    shown = {path.name: path.read_bytes() for path in page.parent.iterdir()}
    assert {name for name in FILES | {STAMP} if shown[name] != whole[name]} == {"report.html", STAMP}
    scene.write_text("no scene", encoding="utf-8")
    watching.wait_for(WATCHING, 2)
    assert UNDER_WAY in page.read_text(encoding="utf-8")
    watching.process.send_signal(signal.SIGINT)
    assert 0 == watching.ended()
    at_rest = resting(whole["report.html"].decode())
    assert at_rest is not None
    kept = {path.name: path.read_bytes() for path in page.parent.iterdir()}
    assert kept | {STAMP: whole[STAMP]} == whole | {"report.html": at_rest.encode()}
    assert STAMP not in kept


def test_a_bad_scene_is_told_in_one_line_and_waited_for(start: Start, scene: Path) -> None:
    watching = start(scene, "--error", "20", "--watch")
    watching.wait_for(WATCHING)
    scene.write_text(READING.replace('radius = "8 mm"', "radius = 8"), encoding="utf-8")
    watching.wait_for(r"scene\.toml:\d+: lamps\[0\]\.radius: length needs a unit")
    watching.wait_for(WATCHING, 2)
    scene.write_text(READING, encoding="utf-8")
    watching.wait_for(WATCHING, 3)
    assert watching.shown.count("Zones") == 2
    assert "Traceback" not in watching.shown


def test_a_file_that_the_scene_names_is_watched_even_before_it_is_there(start: Start, scene: Path) -> None:
    scene.write_text(READING.replace('"uvb-phosphor-306"', '{ csv = "lamp.csv" }'), encoding="utf-8")
    both = r"watching scene\.toml, lamp\.csv; Ctrl-C ends"
    watching = start(scene, "--error", "20", "--watch")
    watching.wait_for("file 'lamp.csv' not found")
    watching.wait_for(both)
    table = scene.with_name("lamp.csv")
    for turn, last in ((2, 330), (3, 340)):
        table.write_text(f"wavelength_nm,power\n290,0\n310,1\n{last},0\n", encoding="utf-8")
        watching.wait_for(both, turn)
        watching.wait_for(r"lamp\.csv saved", turn - 1)
        assert watching.shown.count("Zones") == turn - 1


def test_files_of_the_user_are_not_replaced(start: Start, scene: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    mine = out / "summary.json"
    mine.write_text("mine", encoding="utf-8")
    words = (scene, "--out", out, "--error", "20", "--watch", "--no-pictures")
    assert 2 == start(*words).ended()
    mine.unlink()
    watching = start(*words)
    watching.wait_for(WATCHING)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    mine.write_text("mine again", encoding="utf-8")
    scene.write_text(READING.replace(LEDGE, HIGHER), encoding="utf-8")
    watching.wait_for(r"summary\.json: changed by somebody else since it was written")
    watching.wait_for(WATCHING, 2)
    assert before | {"summary.json": b"mine again"} == {path.name: path.read_bytes() for path in out.iterdir()}
    mine.unlink()
    scene.write_text(READING.replace(LEDGE, HIGHER) + "\n", encoding="utf-8")
    watching.wait_for(WATCHING, 3)
    assert FILES | {STAMP} == {path.name for path in out.iterdir()}
    assert before["result.npz"] != (out / "result.npz").read_bytes()
    mine.write_text("mine to the end", encoding="utf-8")
    scene.write_text(READING, encoding="utf-8")
    watching.wait_for(WATCHING, 4)
    watching.process.send_signal(signal.SIGINT)  # while it waits, though the last run came to nothing
    assert 0 == watching.ended()
    assert "mine to the end" == mine.read_text(encoding="utf-8")


@pytest.mark.viewer
def test_each_page_has_pictures_of_its_own(
    start: Start, scene: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("VIVRAY_NO_PICTURES")
    try:
        require_gl()
    except NoGLError as error:
        pytest.skip(str(error))
    out, found = tmp_path / "out", set[str]()
    watching = start(scene, "--out", out, "--error", "20", "--watch")
    for turn in (1, 2):
        if turn == 2:
            scene.write_text(READING.replace(LEDGE, HIGHER), encoding="utf-8")
        watching.wait_for(WATCHING, turn)
        found |= set(re.findall(r'<img src="([^"]+)"', (out / "report.html").read_text(encoding="utf-8")))
    assert 4 == len(found)


@pytest.mark.parametrize("more", ["--json", "--strict"])
def test_what_needs_an_end_does_not_go_with_it(more: str, start: Start, scene: Path) -> None:
    done = start(scene, "--watch", more)
    assert 2 == done.ended()
    assert "Error: --watch goes on until Ctrl-C; give neither --json nor --strict with it" in done.shown


def test_a_file_of_a_wrong_name_is_not_waited_for(start: Start, tmp_path: Path) -> None:
    done = start(tmp_path / "scnee.toml", "--watch", "--out", tmp_path / "out")
    assert 2 == done.ended()
    assert "no such file" in done.shown
    assert not (tmp_path / "out").exists()
