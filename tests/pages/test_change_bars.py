"""Bars in the margin of what has changed since an older revision: on lines, on pages, on paper."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import pytest

from sitegen.output.site import build_site
from tests.pages.pages_sample import reading, sample

Raw = dict[str, Any]
OTHER = "radio-1"


def with_clock_on_essential(raw: Raw) -> None:
    clock = next(e for e in raw["equipment"] if e["id"] == "clock")
    clock["supplies"][0]["bus"] = "essential"
    # A second change, in words alone.
    next(e for e in raw["equipment"] if e["id"] == OTHER)["on-loss"] = "Use the handheld."


def rewired() -> Raw:
    """The sample with its clock on the essential bus, and another text."""
    new = sample()
    new["aircraft"].update({"revision": "3", "revised": "2026-04-01"})
    with_clock_on_essential(new)
    return new


@cache
def site() -> dict[str, str]:
    files = build_site(reading(rewired()), since=reading(sample())).files
    return {p: c for p, c in files if isinstance(c, str)}


def page(name: str) -> str:
    return site()[f"early/{name}"]


def is_revised(name: str) -> bool:
    return bool(re.search(r'<body class="page-[a-z -]+ revised"', page(name)))


@pytest.mark.parametrize(
    "name",
    [
        "equipment-clock.html",
        "bus-hot.html",
        "bus-essential.html",
        "failure-essential.html",
        "failure-hot.html",
        "failure-f-hot.html",
        f"equipment-{OTHER}.html",
        "failures.html",
        "handout.html",
    ],
)
def test_a_page_on_which_something_changed_has_a_bar(name: str) -> None:
    assert is_revised(name)


@pytest.mark.parametrize(
    "name",
    ["failure-gen-1.html", "bus-right.html", "changes.html", "board.html", "equipment-fan.html"],
)
def test_a_page_on_which_nothing_changed_has_none(name: str) -> None:
    assert not is_revised(name)
    assert '<li class="revised"' not in page(name)


def test_what_a_failure_takes_anew_has_a_bar_in_the_views_in_which_it_does() -> None:
    essential = page("failure-essential.html")
    [row] = re.findall(
        r'<li(?: class="v[^"]*")?><a class="item revised" href="equipment-clock.*?</li>', essential
    )
    assert '<i class="change-bar' in row
    hot = page("failure-hot.html")
    assert "change-bar" not in hot


def test_a_list_has_a_bar_at_the_failures_whose_answer_is_another() -> None:
    tiles = re.findall(r'<li class="revised"><a href="(.*?)">', page("failures.html"))
    assert {"failure-essential.html", "failure-hot.html"} <= set(tiles)
    assert "failure-gen-1.html" not in tiles
    assert "failure-gen-1.html" in page("failures.html")


def test_the_list_a_to_z_has_a_bar_at_an_entry_that_says_something_else() -> None:
    text = page("a-to-z.html")
    rows = re.findall(r'<li class="revised"[^>]*><a class="item" href="(.*?)"', text)
    assert set(rows) == {"equipment-clock.html"}
    assert is_revised("a-to-z.html")


def test_the_line_of_a_breaker_and_the_line_of_a_text_have_a_bar() -> None:
    assert 'class="supply revised"' in page("equipment-clock.html")
    assert 'class="on-loss revised"' in page(f"equipment-{OTHER}.html")
    assert 'class="supply"' in page(f"equipment-{OTHER}.html")


def test_a_feeder_has_a_bar_on_the_pages_of_its_buses() -> None:
    raw = sample()
    feeder = next(f for f in raw["feeders"] if "cb-left" in f["through"])
    feeder["wire"] = 4
    files = dict(build_site(reading(raw), since=reading(sample())).files)
    for bus, others in (("left", 1), ("essential", 3)):
        text = files[f"early/bus-{bus}.html"]
        assert isinstance(text, str)
        branches = text[text.index("<h2>Feeders") : text.index('id="paths"')]
        assert branches.count('<li class="revised">') == 1
        assert branches.count("<li>") == others


def test_the_handout_has_bars_at_its_lines_and_says_what_they_are() -> None:
    handout = page("handout.html")
    assert "A bar in the margin marks what has changed since revision 2 of 1 Mar 2026." in handout
    titles = re.findall(
        r'<h[34] class="revised"><span class="number">[\d.]+</span> ([^<]*)', handout
    )
    assert {t.strip() for t in titles} >= {"Hot bus", "Essential bus", "Essential bus dead"}
    assert "Right bus" not in {t.strip() for t in titles}


def test_only_pages_of_a_site_with_an_older_revision_have_bars() -> None:
    files = dict(build_site(reading(sample())).files)
    marked = [
        p
        for p, c in files.items()
        if isinstance(c, str) and re.search(r'revised["\s>]', c) and p.endswith(".html")
    ]
    assert marked == []
