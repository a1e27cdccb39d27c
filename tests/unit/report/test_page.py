"""The report as one page: self-contained, well formed, told in words."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from sim.analysis.coverage import answer
from sim.report.page import report_page
from sim.report.page_tables import MOST_BESIDE, quantity_tables
from sim.report.pictures import Pictures
from sim.report.prose import NO_BREAK
from sim.tally.result import FloatArray, Result
from tests.support.synthetic_result import (
    TUBE,
    Patch,
    box_patches,
    make_result,
    retitled,
    terrarium,
    terrarium_patches,
    uniform,
)

VOID = {"meta", "br", "img", "hr", "link", "input"}


class Outline(HTMLParser):
    """Tags, ids, attributes and text of a page; notes tags that close out of order."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def page_of(result: Result) -> str:
    return report_page(answer(result), "2026-01-05", 12.0, ["Reflectance of cork: a guess, 0.02 to 0.2."])


@pytest.fixture(scope="module")
def page() -> str:
    return page_of(terrarium())


def test_it_is_well_formed_and_accessible(page: str) -> None:
    outline = Outline(page)
    assert (outline.open, outline.faults) == ([], [])
    assert page.startswith("<!DOCTYPE html>")
    assert outline.named("html")[0]["lang"] == "en"
    assert (len(outline.named("h1")), len(outline.named("main"))) == (1, 1)
    ids = [attributes["id"] for _, attributes in outline.tags if "id" in attributes]
    assert len(set(ids)) == len(ids)
    tables = len(outline.named("table"))
    assert len(outline.named("caption")) == tables > 4
    assert all(attributes.get("scope") in {"col", "row"} for attributes in outline.named("th"))
    drawings = [attributes for _, attributes in outline.tags if attributes.get("role") == "img"]
    assert len(drawings) == len(outline.named("svg")) == 5
    assert sum("; highest " in str(attributes["aria-label"]) for attributes in drawings) == 3


def test_references_inside_point_somewhere(page: str) -> None:
    outline = Outline(page)
    ids = {attributes.get("id") for _, attributes in outline.tags}
    hrefs = {a.get("href") or a.get("xlink:href") for _, a in outline.tags if a.get("href") or a.get("xlink:href")}
    targets = {href for href in hrefs if href and href.startswith("#")} | {
        f"#{name}" for name in re.findall(r"url\(#([^)]+)\)", page)
    }
    assert {target for target in targets if target[1:] not in ids} == set()


def test_it_asks_for_nothing_from_outside(page: str) -> None:
    addresses = re.findall(r"""(?:src|href|url)\s*[=(]\s*["']?([^"')\s>]+)""", page)
    assert {address for address in addresses if not address.startswith(("#", "data:"))} == set()
    assert "<script" not in page
    assert "@import" not in page
    # Names of XML name spaces are no requests; there is no other address.
    assert set(re.findall(r"https?://[^\s\"'<]+", page)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }


def test_the_verdict_stands_before_everything_else(page: str) -> None:
    order = ["No: not as it stands", "Zones", "brightest place within reach", "Surfaces", "Under the lamps", "Spectrum"]
    order += ["Where the power goes", "Assumptions and guesses", "Cautions", "Where this comes from"]
    places = [
        page.index(f">{heading}</h2>") if index else page.index(heading)
        for index, heading in enumerate(order)
        if index != 2
    ]
    assert places == sorted(places)


def test_what_was_computed_with_is_there(page: str) -> None:
    text = " ".join(Outline(page).words)
    for words in ("0123456789abcdef", "2,000,000", "2026-01-05", "Reflectance of cork", "radiant power stated", "64"):
        assert words in text
    assert "Never look into a lit UV lamp" in text
    assert "veterinarian" in text


def test_no_line_ends_between_a_number_and_its_unit(page: str) -> None:
    written = re.sub(r"<(svg|style|script)\b.*?</\1>", "", page, flags=re.DOTALL)
    assert [] == re.findall(r"\d[ \n](?:%|nm|cm|m|W)(?!\w)", written)
    assert len(re.findall(rf"\d{NO_BREAK}(?:%|nm|cm|m|W)", written)) > 20


def test_equal_results_give_equal_pages(page: str) -> None:
    assert page_of(terrarium()) == page


def test_text_from_a_scene_is_never_markup() -> None:
    patches = terrarium_patches()
    patches[6] = replace(patches[6], name="<b>ledge</b> & co")
    patches[-1] = replace(patches[-1], detail={"kind": "profile", "lamp": '<img src="x">'})
    lamps = [('<img src="x">', TUBE, 1.0)]
    result = make_result(patches, uniform(1.0), lamps=lamps)
    page = page_of(retitled(result, "<script>alert(1)</script>"))
    outline = Outline(page)
    assert (outline.open, outline.faults) == ([], [])
    assert outline.named("script") == outline.named("img") == outline.named("b")[5:] == []
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_a_dollar_sign_in_a_name_is_no_formula() -> None:
    patches = box_patches()
    patches[0] = replace(patches[0], name="cheap $floor$ $\\no{$")
    # In the figure, its label and the table.
    assert page_of(make_result(patches, uniform(1.0))).count("cheap $floor$ $\\no{$") >= 3


@pytest.mark.parametrize(
    "result",
    [
        make_result(box_patches(), uniform(1.0)),
        make_result(box_patches(), uniform(0.0), noise=0.0),
        make_result(
            [Patch("sensor", "meter", (0, 0, 0.1), (0, 0, 0), (0, 0, 0), (0, 0), {"kind": "point"})], uniform(1.0)
        ),
        make_result(terrarium_patches(), uniform(1.0), noise=3.0, replicates=2),
    ],
    ids=["no zones", "darkness", "free space with a meter", "two replicates"],
)
def test_sparse_results_make_whole_pages(result: Result) -> None:
    outline = Outline(page_of(result))
    assert (outline.open, outline.faults) == ([], [])
    assert "nan" not in " ".join(outline.words).split()


def test_a_run_under_way_has_places_for_what_is_to_come(page: str) -> None:
    whole = terrarium()
    result = replace(whole, groups=tuple(group for group in whole.groups if group.kind != "surface"))
    early = report_page(answer(result), "2026-01-05", pictures=Pictures, coming=True)
    outline, mark = Outline(early), "This run is under way"
    assert (outline.open, outline.faults) == ([], [])
    coming = [part["aria-labelledby"] for part in outline.named("section") if "data-coming" in part]
    assert ["pictures", "sections", "maps"] == coming
    assert early.index("The brightest place within reach") < early.index('id="figure-reach"')
    assert mark in early
    assert mark not in page
    assert "data-coming" not in page


def test_a_refuge_that_is_brighter_is_said_to_be() -> None:
    def swapped(centre: FloatArray, normal: FloatArray) -> FloatArray:
        return np.where(np.isclose(centre[:, 2], 0.18), 1.0, 2.0)

    words = " ".join(Outline(page_of(make_result(terrarium_patches(), swapped))).words).replace(NO_BREAK, " ")
    assert re.search(r"From basking to refuge hide, [\d.]+ cm apart, the UV index rises by 1\.\d+ ± 0\.\d+\.", words)
    assert "Refuge hide is brighter than basking." in words
    same = " ".join(Outline(page_of(make_result(terrarium_patches(), uniform(2.0)))).words).replace(NO_BREAK, " ")
    assert re.search(r"the UV index (falls|rises) by 0\.\d+ ± 0\.\d+ \(not beyond the error\)", same)


@pytest.mark.parametrize(("count", "parts"), [(1, [1]), (5, [5]), (6, [3, 3]), (11, [4, 4, 3])])
def test_many_zones_are_told_in_tables_that_fit_on_paper(count: int, parts: list[int]) -> None:
    (zone, *_), names = answer(terrarium()).zones, [f"zone {number}" for number in range(count)]
    zones = [replace(zone, group=replace(zone.group, name=name)) for name in names]
    tables = quantity_tables(zones)
    assert parts == [len(table.columns) - 1 for table in tables]
    assert names == [name for table in tables for name in table.columns[1:]]
    assert max(parts) <= MOST_BESIDE
    assert all({len(table.columns)} == {len(row) for row in table.rows} for table in tables)
