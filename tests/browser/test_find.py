"""The finder: what is typed in a hangar, and what comes first."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE


@pytest.fixture(scope="module")
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    page = browser.new_page(viewport=PHONE)
    page.goto((site / "block-1" / "failure-forward.html").as_uri())
    page.click(".strip .find")
    yield page
    page.close()


def found(page: Page, wanted: str) -> list[str]:
    """The first results, each in one line; the search is done when its count is new."""
    page.fill(".find-box input", "")
    page.wait_for_function("document.querySelector('.find-box .result-count').textContent === ''")
    page.fill(".find-box input", wanted)
    page.wait_for_function("document.querySelector('.find-box .result-count').textContent !== ''")
    return [
        " | ".join(a.inner_text().split("\n"))
        for a in page.locator(".find-box .results a").all()[:6]
    ]


@pytest.mark.parametrize(
    ("wanted", "first"),
    [
        ("COM 1", "VHF COM 1 | Equipment"),
        ("com1", "VHF COM 1 | Equipment"),
        ("115v", "115 V AC bus | Bus"),
        ("vhf com 2", "VHF COM 2 | Equipment"),
        ("left wall bus", "Left wall bus | Bus"),
        ("wall left bus", "Left wall bus | Bus"),
        ("right wall B7", "ICE DET | Breaker"),
        ("b7 wall right", "ICE DET | Breaker"),
        ("ldg lt l", "Left landing light | Equipment"),
        ("nav 1", "Navigation receiver 1 | Equipment"),
        ("gps", "Satellite navigator 1 | Equipment"),
        ("battery time", "Both generators | Named failure"),
        ("how long both gen", "Both generators | Named failure"),
        ("aft mid fuse link", "Mid-aft fuse link | Fuse link"),
        ("both generators", "Both generators | Named failure"),
        ("load shedding", "Load shedding | Note"),
        ("ground unit", "Ground unit | Condition"),
        ("right side wall panel", "Right side wall panel | Panel"),
        ("forward volts", "Forward voltmeter | Voltmeter"),
        ("forward bus drops", "Forward bus drops | Failure"),
        # A breaker by its own placard, where several things are fed through it.
        ("WARN 1", "WARN 1 | Breaker"),
        ("strobe", "STROBE | Breaker"),
        ("fire btl", "FIRE BTL | Fuse"),
        # The number of a wiring chart, as the pages print it.
        ("24-31-01", "Generator 1 | Generator"),
        ("24-54-02", "Avionics bus 2 | Bus"),
        # What people call it, though no name or placard does.
        ("left voltmeter", "Forward voltmeter | Voltmeter"),
        ("bus tie", "Ring contactor | Contactor"),
        ("left gen", "Generator 1 | Generator"),
        ("left generator", "Generator 1 | Generator"),
        ("utility welded", "Utility contactor | Contactor"),
        ("start contactor 1 welded", "Start contactor 1 welded | Named failure"),
    ],
)
def test_what_is_meant_comes_first(phone: Page, wanted: str, first: str) -> None:
    assert found(phone, wanted)[0].startswith(first)


def test_of_what_fits_alike_what_has_a_page_of_its_own_comes_first(phone: Page) -> None:
    lines = [line.split(" | ")[0] for line in found(phone, "gen 2")]
    assert lines.index("Generator 2") < lines.index("Generator 2 loadmeter")


@pytest.mark.parametrize(
    ("wanted", "among"),
    [
        ("left landing light", "LDG LT L | Breaker"),
        ("landing lt", "Left landing light | Equipment"),
        ("hyd pump", "Hydraulic pump motor | Equipment"),
        ("xpdr 1", "Transponder 1 | Equipment"),
        ("windshield l", "WSHLD L | Breaker"),
    ],
)
def test_an_abbreviation_finds_the_word_and_the_word_the_abbreviation(
    phone: Page, wanted: str, among: str
) -> None:
    assert any(line.startswith(among) for line in found(phone, wanted)), found(phone, wanted)


@pytest.mark.parametrize("wanted", ["autopiolt", "autopillot", "autopiot", "autopolot"])
def test_one_slip_is_forgiven_and_said(phone: Page, wanted: str) -> None:
    """Letters changed about, one too many, one missing, one wrong."""
    assert any("Autopilot computer" in line for line in found(phone, wanted))
    assert phone.inner_text(".find-box .result-count") == "No exact match. Similar:"


def names(page: Page, wanted: str) -> list[str]:
    return [line.split(" | ")[0] for line in found(page, wanted)]


def test_of_what_fits_equally_a_thing_comes_before_its_breaker(phone: Page) -> None:
    lines = found(phone, "gen 2")
    kinds = [line.split(" | ")[1] for line in lines]
    assert lines[0].startswith("Generator 2 | Generator")
    assert any(line.startswith("GEN 2 OFF lamp") for line in lines)
    assert kinds == sorted(kinds, key=lambda kind: kind == "Breaker")
    assert names(phone, "hyd pump")[0] == "Hydraulic pump motor"
    assert names(phone, "xpdr 1")[:2] == ["Transponder 1", "XPDR 1"]


def test_words_are_found_by_their_beginnings(phone: Page) -> None:
    """'com' is neither in 'comes on' nor in 'computer', as details have it."""
    assert names(phone, "com 1")[:2] == ["VHF COM 1", "COM 1"]
    assert not {"Start contactor 1 welded", "STALL WARN"} & set(names(phone, "com 1"))
    assert "Autopilot computer" not in names(phone, "omp")
    # A long part of a word is what somebody means.
    assert "Autopilot computer" in names(phone, "pilot")


def test_a_word_in_full_finds_the_placard_that_cuts_it_short(phone: Page) -> None:
    assert names(phone, "generator 2 off")[0] == "GEN 2 OFF lamp"


@pytest.mark.parametrize("wanted", ["large voltmeter", "voltmeter large"])
def test_where_nothing_has_all_words_what_has_most_is_offered_and_said(
    phone: Page, wanted: str
) -> None:
    lines = found(phone, wanted)
    assert lines
    assert all(" | Voltmeter | " in line for line in lines)
    said = phone.inner_text(".find-box .result-count")
    assert said == "Nothing has all of these words. With \u2018voltmeter\u2019:"


def test_a_number_alone_is_not_most_of_what_was_typed(phone: Page) -> None:
    assert found(phone, "zzz 2") == []


@pytest.mark.parametrize("wanted", ["autoppilott", "zzz", "b77"])
def test_two_slips_or_a_slip_in_a_short_word_find_nothing(phone: Page, wanted: str) -> None:
    assert found(phone, wanted) == []
    assert "No match" in phone.inner_text(".find-box .result-count")


def test_a_place_is_found_on_every_panel_that_has_it_and_nowhere_else(phone: Page) -> None:
    lines = found(phone, "B7")
    assert all(" B7," in line for line in lines)
    assert any("Left side wall panel B7" in line for line in lines)
    assert any("Right side wall panel B7" in line for line in lines)


def test_a_chapter_is_no_section_of_another_chapter(phone: Page) -> None:
    """ATA 23 is communications; 28-23 are pumps."""
    assert "pump" not in " ".join(found(phone, "ata 23")).lower()
    assert found(phone, "23-11")[0].startswith("HF radio")
    assert "pump" in found(phone, "28-23")[0]


def test_a_result_says_at_once_the_breaker_s_place_and_the_bus(phone: Page) -> None:
    breaker, equipment = found(phone, "com 1")[:2]
    for line in (breaker, equipment):
        assert "10\u00a0A, Right side wall panel C4" in line
        assert "on Avionics bus 1" in line


def test_every_page_has_it_one_tap_away(browser: Browser, site: Path) -> None:
    pages = list(site.glob("block-*/*.html"))
    assert len(pages) > 900
    for path in pages:
        text = path.read_text(encoding="utf-8")
        assert "<a class=find href=a-to-z.html>Find</a>" in text, path
        assert "find.js" in text


def test_it_opens_with_the_front_page(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport=PHONE)
    page.goto((site / "block-1" / "index.html").as_uri())
    page.fill("#wanted", "com 1")
    page.keyboard.press("Enter")
    page.wait_for_url("**/equipment-com-1.html*")
    page.close()


def test_without_scripts_it_leads_to_the_list(browser: Browser, site: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto((site / "block-1" / "failure-forward.html").as_uri())
    page.click(".strip .find")
    page.wait_for_url("**/a-to-z.html")
    assert page.inner_text("h1 .name") == "A to Z"
    page.goto((site / "block-1" / "index.html").as_uri())
    page.fill("#wanted", "com 1")
    page.keyboard.press("Enter")
    page.wait_for_url("**/a-to-z.html*")
    context.close()
