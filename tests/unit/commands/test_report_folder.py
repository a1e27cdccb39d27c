"""The files of a watched run replace those of the one before, all or none, and nobody else's."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from sim.commands.report_folder import FILES, NEXT, PAGE, ChangedByOthersError, ReportFolder, clear_unfinished
from sim.report.watched_page import REST_MS, STAMP, asking, resting
from tests.support.browser import file_address, needs_chromium, opened

if TYPE_CHECKING:
    from playwright.sync_api import Page

FILES_OF_A_RUN = set(FILES) - {STAMP}


def fill(folder: ReportFolder, text: str) -> None:
    """Write the files of a run, each with a text, the page as one of some screens' height."""
    with folder.next_run() as place:
        for name in FILES_OF_A_RUN:
            (place / name).write_text(text, encoding="utf-8")
        (place / PAGE).write_text(page(text), encoding="utf-8")


def page(text: str) -> str:
    return f"<html><head><title>{text}</title></head><body><p style='height: 9000px'>{text}</p></body></html>"


def names(out: Path) -> set[str]:
    return {path.name for path in out.iterdir()}


def texts(out: Path) -> dict[str, str]:
    return {name: (out / name).read_text(encoding="utf-8") for name in names(out)}


def test_each_run_replaces_the_one_before_and_the_end_leaves_plain_files(tmp_path: Path) -> None:
    folder = ReportFolder(tmp_path)
    for text in ("one", "two"):
        fill(folder, text)
        found = texts(tmp_path)
        assert set(FILES) == set(found)
        assert {text} == {found[name] for name in FILES_OF_A_RUN - {PAGE}}
        assert page(text) != found[PAGE]
        assert "<script>" in found[PAGE]
    folder.end()
    assert page("two") == texts(tmp_path)[PAGE]
    assert names(tmp_path) == FILES_OF_A_RUN


def test_a_page_shown_early_gives_way_to_whole_files_and_comes_alone(tmp_path: Path) -> None:
    folder = ReportFolder(tmp_path)
    folder.show_early(page("before there is any"))
    assert not names(tmp_path)
    fill(folder, "one")
    before = texts(tmp_path)
    folder.show_early(page("early"))
    early = texts(tmp_path)
    assert early == before | {PAGE: asking(page("early")), STAMP: early[STAMP]}
    assert early[STAMP] != before[STAMP]
    folder.end()
    assert page("one") == texts(tmp_path)[PAGE]
    folder = ReportFolder(tmp_path)
    fill(folder, "one")
    folder.show_early(page("early"))
    fill(folder, "two")
    assert asking(page("two")) == texts(tmp_path)[PAGE]
    (tmp_path / PAGE).write_text("mine", encoding="utf-8")
    folder.show_early(page("early"))
    assert "mine" == texts(tmp_path)[PAGE]


def test_a_run_that_fails_leaves_the_one_before(tmp_path: Path) -> None:
    folder = ReportFolder(tmp_path)
    fill(folder, "one")
    before = texts(tmp_path)

    def half_a_run() -> None:
        with folder.next_run() as place:
            (place / PAGE).write_text("half", encoding="utf-8")
            raise ValueError("stopped")

    with pytest.raises(ValueError, match="stopped"):
        half_a_run()
    assert before == texts(tmp_path)


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_somebody_else_wrote_stays_with_all_others(name: str, tmp_path: Path) -> None:
    folder = ReportFolder(tmp_path)
    fill(folder, "one")
    (tmp_path / name).write_text("mine", encoding="utf-8")
    before = texts(tmp_path)
    with pytest.raises(ChangedByOthersError, match=f"{name}: changed by somebody else"):
        fill(folder, "two")
    folder.end()
    found = texts(tmp_path)
    assert "mine" == found[name]
    kept = before if name in (PAGE, STAMP) else before | {PAGE: page("one")}
    assert {key: kept[key] for key in found} == found


def test_what_somebody_took_away_is_written_anew(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    folder = ReportFolder(out)
    fill(folder, "one")
    for path in out.iterdir():
        path.unlink()
    out.rmdir()
    folder.end()
    assert not out.exists()
    fill(folder, "two")
    assert set(FILES) == names(out)


def test_what_is_there_at_the_start_may_be_replaced(tmp_path: Path) -> None:
    (tmp_path / PAGE).write_text("of an earlier run", encoding="utf-8")
    folder = ReportFolder(tmp_path)
    fill(folder, "one")
    assert set(FILES) == names(tmp_path)


def test_only_what_nobody_holds_any_more_is_cleared(tmp_path: Path) -> None:
    left, mine, notes = (tmp_path / f"{NEXT}{name}" for name in ("left", "file", "notes"))
    for folder in (left, notes):
        folder.mkdir()
        (folder / f".{PAGE}.7.part").write_text("half", encoding="utf-8")
    (notes / "of-mine.txt").write_text("no run's", encoding="utf-8")
    mine.write_text("no folder", encoding="utf-8")
    with ReportFolder(tmp_path).next_run() as place:
        clear_unfinished(tmp_path)
        assert {place.name, mine.name, notes.name} == names(tmp_path)
        for name in FILES_OF_A_RUN:
            (place / name).write_text("whole", encoding="utf-8")
    assert {*FILES, mine.name, notes.name} == names(tmp_path)
    assert (notes / "of-mine.txt").is_file()


def test_what_asks_after_a_kill_follows_the_next_program_or_rests_at_its_end(tmp_path: Path) -> None:
    fill(ReportFolder(tmp_path), "one")  # and it is killed
    ReportFolder(tmp_path).end()
    assert page("one") == texts(tmp_path)[PAGE]
    assert names(tmp_path) == FILES_OF_A_RUN
    fill(ReportFolder(tmp_path), "two")
    following = ReportFolder(tmp_path)
    fill(following, "three")
    assert asking(page("three")) == texts(tmp_path)[PAGE]
    following.end()
    assert page("three") == texts(tmp_path)[PAGE]


@pytest.mark.parametrize("text", ["", "mine", page("one"), "<script></body>", asking(page("one")) + "more"])
def test_only_a_page_that_asks_is_put_to_rest(text: str) -> None:
    assert resting(text) is None
    assert resting(asking(page(text))) == page(text)


@pytest.mark.browser
@needs_chromium
def test_an_open_page_shows_the_next_one_at_the_same_place_and_rests_in_the_end(tmp_path: Path) -> None:
    folder = ReportFolder(tmp_path)
    fill(folder, "one")
    with opened(file_address(tmp_path / PAGE)) as found:
        found.page.evaluate("scrollTo(0, 1234)")
        fill(folder, "two")
        found.page.wait_for_function("document.title === 'two'", timeout=60_000)
        found.page.wait_for_function("scrollY === 1234", timeout=60_000)
        folder.end()
        found.page.wait_for_function("!document.querySelector('script')", timeout=60_000)
        found.page.wait_for_function("scrollY === 1234", timeout=60_000)
        assert "two" == found.page.title()
        assert ([], []) == (found.outside, found.errors)


@pytest.mark.browser
@needs_chromium
def test_what_is_still_to_come_keeps_its_room_so_that_nothing_moves_below_it(tmp_path: Path) -> None:
    parts = "<section aria-labelledby='a'{}><p style='height: {}px'>a</p></section><p style='height: 9000px'>b</p>"

    def of(text: str, mark: str, height: int) -> str:
        return page(text).replace("<p", f"{parts.format(mark, height)}<p", 1)

    folder = ReportFolder(tmp_path)
    fill(folder, "none")
    folder.show_early(of("one", "", 2000))
    with opened(file_address(tmp_path / PAGE)) as found:
        height = found.page.evaluate("document.documentElement.scrollHeight")
        found.page.evaluate("scrollTo(0, 3456)")
        for text in ("two", "three"):
            folder.show_early(of(text, " data-coming", 20))
            found.page.wait_for_function(f"document.title === '{text}'", timeout=60_000)
            found.page.wait_for_function("scrollY === 3456", timeout=60_000)
            assert height == found.page.evaluate("document.documentElement.scrollHeight")


@pytest.mark.browser
@needs_chromium
def test_a_copy_of_a_page_asks_once_and_rests(tmp_path: Path) -> None:
    folder, copy = ReportFolder(tmp_path), tmp_path / "elsewhere" / PAGE
    fill(folder, "one")
    copy.parent.mkdir()
    copy.write_bytes((tmp_path / PAGE).read_bytes())
    with opened("about:blank") as found:
        loads: list[str] = []
        found.page.on("request", lambda asked: loads.append(asked.url.partition("?")[0]))
        found.page.goto(file_address(copy))
        found.page.wait_for_timeout(2000)
        assert [file_address(copy), file_address(copy.with_name(STAMP))] == loads


def come_back(page: "Page") -> None:
    page.evaluate("dispatchEvent(new Event('focus'))")


def click(page: "Page") -> None:
    page.mouse.click(200, 100)


def press(page: "Page") -> None:
    page.keyboard.press("a")


@pytest.mark.browser
@needs_chromium
@pytest.mark.parametrize("turn", [come_back, click, press], ids=lambda turn: turn.__name__)
def test_a_page_without_news_says_that_it_rests_until_somebody_turns_to_it(
    tmp_path: Path, turn: Callable[["Page"], None]
) -> None:
    fill(ReportFolder(tmp_path), "one")  # and it is killed
    with opened("about:blank") as found:
        loads: list[str] = []
        found.page.on("request", lambda asked: loads.append(asked.url.partition("?")[0]))
        found.page.clock.install()
        found.page.goto(file_address(tmp_path / PAGE))
        found.page.clock.run_for(2000)
        found.page.wait_for_timeout(500)
        assert len(loads) > 2
        found.page.clock.fast_forward(REST_MS)
        found.page.wait_for_timeout(500)
        asked = len(loads)
        found.page.clock.run_for(5000)
        found.page.wait_for_timeout(500)
        assert asked == len(loads)
        (told,) = found.page.get_by_role("status").all_inner_texts()
        assert "Nothing new for 4 hours" in told
        fill(ReportFolder(tmp_path), "two")
        turn(found.page)
        found.page.wait_for_function("document.title === 'two'", timeout=60_000)
        assert ([], []) == (found.outside, found.errors)
