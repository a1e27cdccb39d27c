"""Files appear whole or not at all, and nobody's file is replaced unasked."""

import json
from pathlib import Path

import pytest

from sim.analysis.coverage import answer
from sim.report import write
from sim.report.watched_page import STAMP
from sim.report.write import ReportExistsError, write_report, write_whole
from tests.support.synthetic_result import terrarium


def test_three_files(tmp_path: Path) -> None:
    out = tmp_path / "new" / "folder"
    paths = write_report(answer(terrarium()), out, 3.0, "2026-01-05")
    assert sorted(path.name for path in out.iterdir()) == ["receivers.csv", "report.html", "summary.json"]
    assert set(paths) == {"page", "summary", "receivers"}
    assert json.loads(paths["summary"].read_text(encoding="utf-8"))["elapsed_s"] == 3.0


def test_a_file_of_the_user_stays_and_nothing_is_written(tmp_path: Path) -> None:
    mine = tmp_path / "summary.json"
    mine.write_text("mine", encoding="utf-8")
    with pytest.raises(ReportExistsError, match=r"summary\.json: there already"):
        write_report(answer(terrarium()), tmp_path, None, "2026-01-05")
    assert [path.name for path in tmp_path.iterdir()] == ["summary.json"]
    assert mine.read_text(encoding="utf-8") == "mine"


def test_it_is_replaced_where_that_is_allowed(tmp_path: Path) -> None:
    (tmp_path / "summary.json").write_text("old", encoding="utf-8")
    (tmp_path / STAMP).write_text("of a program that was killed", encoding="utf-8")
    paths = write_report(answer(terrarium()), tmp_path, None, "2026-01-05", overwrite=True)
    assert {path.name for path in paths.values()} == {path.name for path in tmp_path.iterdir()}
    assert json.loads(paths["summary"].read_text(encoding="utf-8"))["elapsed_s"] is None


def test_a_write_that_fails_leaves_the_old_file_and_no_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "page.html"
    path.write_text("old", encoding="utf-8")

    def fail(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(write.os, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write_whole(path, "new")
    assert [(one.name, one.read_text(encoding="utf-8")) for one in tmp_path.iterdir()] == [("page.html", "old")]


def test_what_is_no_longer_wanted_is_given_up_between_figures(tmp_path: Path) -> None:
    looks = 0

    def look() -> None:
        nonlocal looks
        looks += 1
        if looks == 3:
            raise InterruptedError

    with pytest.raises(InterruptedError):
        write_report(answer(terrarium()), tmp_path, None, "2026-01-05", look=look)
    assert (3, []) == (looks, list(tmp_path.iterdir()))
