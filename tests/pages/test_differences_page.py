"""How airframes differ: a page for each other airframe, and a mark on every page that differs.

What is true of each pair is checked in `tests/answers/test_differences.py`; here, that it is shown.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from sitegen.answers.differences import Differences, differences
from sitegen.answers.reading_changes import reading_changes
from sitegen.answers.readings import reading_text
from sitegen.catalogue.read import read
from sitegen.solver.network import build
from tests.pages.as_written import as_written
from tests.pages.pages_sample import element, words

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"
PAIRS = [("block-1", "block-2"), ("block-3", "block-1")]


@pytest.fixture(scope="module")
def pages(site: Path) -> dict[str, str]:
    return {
        p.relative_to(site).as_posix(): as_written(p.read_text("utf-8"))
        for p in site.rglob("*.html")
    }


@cache
def found(one: str, other: str) -> Differences:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    return differences(build(catalogue, one), build(catalogue, other))


def effects(page: str) -> list[str]:
    """The text of each row about failures that take something else."""
    found = re.findall(r"<li><div>(.*?)</li>", element(page, "failures"), re.S)
    return [words(row) for row in found]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_every_record_and_every_effect_is_on_the_page(
    pages: dict[str, str], one: str, other: str
) -> None:
    text = words(pages[f"{one}/differences-{other}.html"])
    names = {a.id: a.name for a in read(DEMO).catalogue.airframes}  # type: ignore[union-attr]
    of = found(one, other)
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    known = {**build(catalogue, other).names, **build(catalogue, one).names}
    for record in (*of.changed, *of.only_one, *of.only_other):
        assert record.section == "feeders" or record.name in text, record
    for consequence in of.consequences:
        assert known[consequence.fault[0]] in text
        for items in consequence.effect:
            assert all(known[item] in text for item in items)
    for place, lost in ((one, "only_one"), (other, "only_other")):
        several = any(getattr(c, lost) for c in of.consequences)
        assert (f"Only on {names[place]} lost:" in text) == several


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_every_reading_that_differs_is_on_the_page_folded(
    pages: dict[str, str], one: str, other: str
) -> None:
    page = pages[f"{one}/differences-{other}.html"]
    assert '<details class="group fold" id="readings"' in page
    text = words(element(page, "readings"))
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    here, there = build(catalogue, one), build(catalogue, other)
    kinds = {i.id: i.kind for i in here.catalogue.indications}
    changes = list(reading_changes(here, there))
    assert changes
    for change in changes:
        assert there.names[change.fault[0]] in text
        for indication, was, now in change.shown:
            shown = [reading_text(r, kinds[indication]) for r in (was, now)]
            assert here.names[indication] in text
            assert " | ".join(shown) in text


def test_the_effect_is_on_the_side_of_the_airframe_that_has_it(pages: dict[str, str]) -> None:
    """Both ITT gauges of the first block are on the right wall bus; of the second only one is."""
    (row,) = [
        row
        for row in effects(pages["block-1/differences-block-2.html"])
        if row.startswith("Aft bus dead or shorted (in Cruise")
    ]
    assert "</a> dead or shorted" in pages["block-1/differences-block-2.html"]
    # What fails in the same ways under the same conditions is one text.
    several = [
        row
        for row in effects(pages["block-2/differences-block-3.html"])
        if row.startswith("Main battery , Auxiliary battery , Aft bus , ")
    ]
    assert len(several) == 1
    here, there = row.split("Only on Serials 25 to 58")
    assert "Right turbine temperature (ITT)" in here.split("Only on Serials 1 to 24")[1]
    assert "Right torque" in there


@pytest.mark.parametrize("other", ["block-2", "block-3"])
def test_a_page_is_marked_where_the_other_airframe_differs_and_only_there(
    pages: dict[str, str], other: str
) -> None:
    of = found("block-1", other)
    differing = {r.id for r in of.changed} | {c.fault[0] for c in of.consequences}
    differing |= {item for c in of.consequences for items in c.effect for item in items}
    checked = 0
    for path, text in pages.items():
        about = re.fullmatch(r"block-1/(?:equipment|failure|bus)-(.*)\.html", path)
        if not about or f"{other}/{path.split('/')[1]}" not in pages:
            continue
        mark = re.search(r'<p class="not-the-same">(.*?)</p>', text)
        marked = bool(mark) and f'"../{other}/' in mark[1]  # type: ignore[index]
        assert marked == (about[1] in differing), path
        checked += marked
    assert checked > 20


def test_every_pair_has_its_pages_and_the_front_page_leads_there(pages: dict[str, str]) -> None:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    assert sum("/differences-" in path for path in pages) == 3 * 2
    assert "differences-block-2.html" in element(pages["block-1/index.html"], "more")


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_what_only_the_other_airframe_has_leads_to_its_pages_there(
    pages: dict[str, str], one: str, other: str
) -> None:
    text = element(pages[f"{one}/differences-{other}.html"], "only-there")
    linked = re.findall(rf'<a href="\.\./({other}/[^"#]*)[^"]*">([^<]*)</a>', text)
    assert linked
    assert all(path in pages for path, _ in linked)
    names = {name for _, name in linked}
    network = build(read(DEMO).catalogue, other)  # type: ignore[arg-type]
    own = [r.id for r in found(one, other).only_other if r.section in ("equipment", "buses")]
    assert own
    assert {network.names[i] for i in own} <= names


@pytest.mark.parametrize(
    ("page", "differs", "same"),
    [
        # The standby battery, its bus and what the crew does with both generators lost.
        ("block-1/named-failure-both-generators", ["block-2", "block-3"], []),
        # On block 1 one relay takes both avionics buses.
        ("block-1/function-vhf-communication", ["block-2", "block-3"], []),
        ("block-2/function-vhf-communication", ["block-1"], ["block-3"]),
        ("block-2/named-failure-battery-hot", ["block-1"], ["block-3"]),
        ("block-3/function-survey-run", ["block-2"], []),
    ],
)
def test_a_named_failure_and_a_function_say_where_they_are_not_the_same(
    pages: dict[str, str], page: str, differs: list[str], same: list[str]
) -> None:
    text = pages[f"{page}.html"]
    name = page.split("/")[1]
    mark = text.partition('<p class="not-the-same">')[2].partition("</p>")[0]
    for airframe in differs:
        assert f'href="../{airframe}/{name}.html"' in mark, airframe
    for airframe in same:
        assert airframe not in mark
