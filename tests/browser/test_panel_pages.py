"""Panels in a real browser: on a phone, at twice the text, without colour, by keyboard."""

from __future__ import annotations

import io
import itertools
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESK, PHONE, add_style, choose
from tests.pages.as_written import as_written

PANELS = ["pedestal", "right-wall", "aft-box"]
LARGE = "html { font-size: 200% }"

BOXES = """
() => [...document.querySelectorAll(".panel-table tbody td > a")].map(link => {
  const box = link.getBoundingClientRect();
  const parts = [...link.children].map(part => {
    // Where the words are, not where their line could go on.
    const range = document.createRange();
    range.selectNodeContents(part);
    const words = range.getBoundingClientRect();
    return [words.left, words.top, words.right, words.bottom];
  });
  return {name: link.ariaLabel, box: [box.left, box.top, box.right, box.bottom], parts};
})
"""


def opened(
    browser: Browser,
    site: Path,
    path: str,
    size: dict[str, int],
    look: str = "light",
    css: str = "",
) -> Page:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.emulate_media(color_scheme="dark" if look == "dark" else "light")
    page.goto((site / "block-1" / path.split("#")[0]).as_uri() + "#" + path.partition("#")[2])
    if css:
        add_style(page, css)
    return page


def overlap(a: list[float], b: list[float]) -> bool:
    wide = min(a[2], b[2]) - max(a[0], b[0])
    high = min(a[3], b[3]) - max(a[1], b[1])
    return wide > 0.5 and high > 0.5


@pytest.mark.parametrize("css", ["", LARGE], ids=["plain", "twice the text"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("panel", PANELS)
def test_words_of_a_place_stay_in_it_and_apart_and_are_large_enough_to_touch(
    browser: Browser, site: Path, panel: str, size: dict[str, int], css: str
) -> None:
    page = opened(browser, site, f"panel-{panel}.html", size, css=css)
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0
    places: list[dict[str, Any]] = page.evaluate(BOXES)
    assert len(places) > 4
    for place in places:
        left, top, right, bottom = place["box"]
        assert min(right - left, bottom - top) >= 44, place["name"]
        for part in place["parts"]:
            assert left - 1 <= part[0] <= part[2] <= right + 1, place["name"]
            assert top - 1 <= part[1] <= part[3] <= bottom + 1, place["name"]
        for one, other in itertools.combinations(place["parts"], 2):
            assert not overlap(one, other), place["name"]
    for one, other in itertools.combinations(places, 2):
        assert not overlap(one["box"], other["box"]), (one["name"], other["name"])
    page.close()


def test_the_row_letters_stay_while_a_panel_slides(browser: Browser, site: Path) -> None:
    page = opened(browser, site, "panel-right-wall.html", PHONE)
    slid = page.evaluate("() => (document.querySelector('.panel-table').scrollLeft = 500)")
    assert slid == 500
    left = page.locator("th[scope=row]").first.bounding_box()
    assert left is not None
    assert left["x"] < 2
    page.close()


def test_a_link_to_a_place_brings_it_into_sight(browser: Browser, site: Path) -> None:
    page = opened(browser, site, "panel-right-wall.html#at-ignition-right.breaker-1", PHONE)
    page.wait_for_timeout(100)
    box = page.locator("td:target").bounding_box()
    assert box is not None
    assert 28 <= box["x"] <= PHONE["width"] - box["width"]
    assert 47 <= box["y"] <= PHONE["height"] - box["height"]
    page.close()


@pytest.mark.parametrize("panel", PANELS)
def test_a_panel_is_walked_by_keyboard_place_by_place(
    browser: Browser, site: Path, panel: str
) -> None:
    page = opened(browser, site, f"panel-{panel}.html", PHONE)
    first = page.locator(".panel-table td > a").first
    first.focus()
    wanted = page.locator(".panel-table td > a").evaluate_all(
        "links => links.map(l => l.ariaLabel)"
    )
    for name in wanted:
        seen = page.evaluate(
            """() => {
              const link = document.activeElement, box = link.getBoundingClientRect();
              const ring = getComputedStyle(link).outlineStyle;
              const letter = document.querySelector('.panel-table th[scope=row]');
              const margin = letter.getBoundingClientRect().right;
              return [link.ariaLabel, ring, box.left >= margin - 1 || box.width > innerWidth];
            }"""
        )
        assert seen == [name, "solid", True]
        page.keyboard.press("Tab")
    page.close()


def two_tones(element: Any) -> bytes:
    """The band of a key as two tones: what stands out from the ground, and what does not."""
    image = Image.open(io.BytesIO(element.screenshot())).convert("L")
    inside = image.crop((2, 2, image.width - 2, image.height - 2))
    low, high = inside.getextrema()
    middle = (int(low) + int(high)) / 2 if int(high) - int(low) > 40 else -1
    return bytes(255 if p > middle else 0 for p in inside.tobytes()) if middle >= 0 else b"even"


@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("panel", PANELS)
def test_without_colour_every_bus_of_a_panel_has_a_band_of_its_own(
    browser: Browser, site: Path, panel: str, look: str
) -> None:
    css = "html { filter: grayscale(1) }"
    page = opened(browser, site, f"panel-{panel}.html", PHONE, look, css)
    bands = [two_tones(e) for e in page.locator(".bus-keys .bus-band").all()]
    assert bands
    for one, other in itertools.combinations(bands, 2):
        pairs = list(zip(one, other, strict=False))
        differ = sum(a != b for a, b in pairs) / len(pairs)
        assert len(one) != len(other) or differ > 0.1
    page.close()


def test_all_patterns_of_the_style_sheet_differ_without_colour(
    browser: Browser, site: Path
) -> None:
    page = opened(browser, site, "panel-pedestal.html", PHONE, css="html { filter: grayscale(1) }")
    key = page.locator(".bus-keys li").first
    bands = []
    for number in range(12):
        key.evaluate(f"li => li.className = 'p{number}'")
        bands.append(two_tones(key.locator(".bus-band")))
    assert sum(band == b"even" for band in bands) == 1, "one pattern is solid"
    assert len(set(bands)) == 12
    page.close()


def test_a_page_of_a_bus_picks_out_its_breakers_on_the_panel(browser: Browser, site: Path) -> None:
    page = opened(browser, site, "bus-avionics-2.html", DESK)
    page.locator(".map", has_text="Right side wall").click()
    page.wait_for_url("**/panel-right-wall.html#*")
    picked = page.locator(".panel-table td").evaluate_all(
        "all => all.filter(td => getComputedStyle(td).outlineStyle == 'solid')"
        ".map(td => td.firstChild.ariaLabel)"
    )
    assert len(picked) == 13
    assert all(name.endswith("Avionics bus 2") for name in picked)
    page.close()


def test_small_maps_follow_the_view_without_a_script(browser: Browser, site: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto((site / "block-1" / "failure-gen-1.html").as_uri())
    page.locator("#panels > summary").click()
    shown = []
    for view in range(page.locator("input.view").count()):
        choose(page, view)
        shown.append(tuple(page.locator(".map:visible").all_inner_texts()))
    assert len(set(shown)) > 1
    for link in page.locator(".map:visible").all():
        box = link.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    context.close()


def test_a_bus_with_a_hazard_is_named_once_in_the_row_of_a_breaker(site: Path) -> None:
    hazards = 0
    for path in sorted((site / "block-1").glob("panel-*.html")):
        page = as_written(path.read_text(encoding="utf-8"))
        rows = page.partition("By place")[2].split('class="item"')
        for row in rows:
            alone = re.findall(r'<span class="also">([^<]*)<span class="hazard">', row)
            hazards += len(alone)
            words = re.sub("<[^>]+>", "", row)
            assert all(words.count(name.strip()) == 1 for name in alone if " bus" in name), path
    assert hazards
