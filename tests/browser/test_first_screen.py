"""What a page answers before it is scrolled, how long it is, and that nothing floats over it.

What counts as the first screen, as long and as large enough for a thumb is common practice, no
source, but for the exception of links within a sentence: WCAG 2.2, 2.5.8 (from memory).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESK, PHONE, add_style, choose
from tests.browser.test_access import one_of_each_kind
from tests.samples import stratified

FOLD = PHONE["height"]
LONGEST = 6
"""Screens of a phone."""
THUMB = 44
"""Least height of a target, CSS px."""
READABLE = 9
"""Least height of a letter in a drawing, CSS px."""
FAILURE = "block-1/failure-forward.html"
NAMED = "block-1/named-failure-both-generators.html"
MEANT_TO_BE_LONG = ("handout", "blank", "a-to-z")
"""What is printed, and the list of every name."""

MEASURE = """() => {
  const shown = name => [...document.querySelectorAll(name)].filter(e => e.checkVisibility());
  const end = e => e.getBoundingClientRect().bottom + scrollY;
  const views = [...document.querySelectorAll('input.view')];
  const chosen = views.find(e => e.checked);
  const found = (views.length ? views : [null]).map(view => {
    if (view) {
      view.checked = true;
      view.dispatchEvent(new Event('change', { bubbles: true }));
    }
    const lost = shown('.functions :is(.lost, .off) li').slice(0, 1);
    return {
      headlines: shown('.answer .headline').map(end),
      // In large type, or small where nothing failed gives the same.
      lasting: shown('.answer :is(.of-battery, p):has(> a[href="#battery-time"])').map(end),
      // Where nobody has to land the crew does something else first.
      after: shown('.crew p:has(> a[href="#battery-time"])').length,
      short: [...document.querySelectorAll('.endurances .endurance')].filter(
        e => [e, e.closest('.endurances')].every(one => getComputedStyle(one).display !== 'none')
          && !/More than/.test(e.querySelector('.lasts').textContent)).length,
      lost: lost.map(end),
      // What another answer would take besides is counted, and listed in its own section.
      functions: / function/.test(shown('.answer .headline').flatMap(e => [...e.childNodes])
        .filter(e => e.className !== 'or-else').map(e => e.textContent).join()),
      height: document.documentElement.scrollHeight,
    };
  });
  if (chosen) chosen.checked = true;
  return found;
}"""


def kind_of(page: Path) -> str:
    return page.name.partition("-")[0]


def long_and_sampled(folder: Path) -> list[Path]:
    """Of each kind of page the five with most text, and a sample of all."""
    pages = sorted(folder.glob("*.html"), key=lambda p: (-p.stat().st_size, p))
    longest = [p for p in pages if p in [q for q in pages if kind_of(q) == kind_of(p)][:5]]
    return sorted({*longest, *stratified(pages, kind_of, len(pages), seed=41)})


@pytest.fixture(scope="module")
def measured(browser: Browser, site: Path) -> dict[str, list[dict[str, Any]]]:
    """By page of one airframe: for each view where the answer ends, and how high the page is."""
    page = browser.new_page(viewport=PHONE)
    found = {}
    for path in long_and_sampled(site / "block-1"):
        page.goto(path.as_uri())
        found[path.name] = page.evaluate(MEASURE)
    page.close()
    assert len(found) > 60
    return found


def test_the_answer_of_a_failure_is_on_the_first_screen_in_every_view(
    measured: dict[str, list[dict[str, Any]]],
) -> None:
    below, with_endurance, with_functions = [], 0, 0
    for name, views in measured.items():
        if not name.startswith(("failure-", "named-failure-")):
            continue
        for number, view in enumerate(views):
            assert len(view["headlines"]) == 1, (name, number)
            # More than four hours is no headline: it is in the part about batteries.
            assert bool(view["lasting"] or view["after"]) == bool(view["short"]), (name, number)
            assert not (view["lasting"] and view["after"]), (name, number)
            # A function that the crew turns off is listed, and not counted.
            assert view["lost"] or not view["functions"], (name, number)
            with_endurance += bool(view["lasting"])
            with_functions += bool(view["lost"])
            ends = max([*view["headlines"], *view["lasting"], *view["lost"]])
            if ends > FOLD:
                below.append(f"{name}, view {number}: {ends:.0f}")
    assert below == []
    assert with_endurance > 20
    assert with_functions > 50


def test_no_page_is_longer_than_six_screens_as_it_opens(
    measured: dict[str, list[dict[str, Any]]],
) -> None:
    heights = {
        f"{name}, view {number}": view["height"] / FOLD
        for name, views in measured.items()
        if not name.startswith(MEANT_TO_BE_LONG)
        for number, view in enumerate(views)
    }
    assert len(heights) > 200
    long = {name: round(screens, 1) for name, screens in heights.items() if screens > LONGEST}
    assert long == {}


# In a column of its own something may stay: it is over nothing.
PINNED = """async () => {
  const still = [...document.querySelectorAll('body *')].filter(e =>
    /fixed|sticky/.test(getComputedStyle(e).position)
      && !e.closest('.strip, .jumps, .letters, dialog, .skip'));
  const all = [...document.querySelectorAll('main *, footer *')];
  const covers = (e, box) => all.some(o => {
    if (e.contains(o) || o.contains(e) || !o.checkVisibility()) return false;
    const other = o.getBoundingClientRect();
    return other.left < box.right - 1 && other.right > box.left + 1
      && other.top < box.bottom - 1 && other.bottom > box.top + 1;
  });
  const found = new Set();
  const end = document.documentElement.scrollHeight - innerHeight;
  for (let y = 0; y + 10 <= end; y += 300) {
    scrollTo({ top: y, behavior: 'instant' });
    const before = still.filter(e => e.checkVisibility({opacityProperty: true}))
      .map(e => [e, e.getBoundingClientRect()]);
    scrollTo({ top: y + 10, behavior: 'instant' });
    for (const [e, box] of before) {
      const now = e.getBoundingClientRect();
      if (Math.abs(now.top - box.top) < 5 && now.bottom > 0 && now.top < innerHeight
          && covers(e, now))
        found.add(`${e.tagName} ${e.className}`);
    }
  }
  return [...found];
}"""


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_but_the_strip_and_the_bar_stays_over_a_page_that_scrolls(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    found = {}
    for path in [*one_of_each_kind(site), site / NAMED]:
        page.goto(path.as_uri())
        found[path.name] = page.evaluate(PINNED)
    assert {name: pinned for name, pinned in found.items() if pinned} == {}
    page.close()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_strip_and_the_bar_stay_and_are_low(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.goto((site / FAILURE).as_uri())
    page.evaluate("scrollTo(0, 1500)")
    strip, bar = (page.locator(s).bounding_box() for s in (".strip", ".jumps"))
    assert strip
    assert bar
    assert strip["y"] == 0
    assert bar["y"] == pytest.approx(strip["height"], abs=1)
    assert bar["y"] + bar["height"] < 120
    # Whatever the condition is called, the strip is one row.
    for view in range(6):
        page.evaluate("view => document.getElementById(`view-${view}`).click()", view)
        assert page.locator(".strip").bounding_box() == strip, view
    # With text so large that it takes two, the bar is below both.
    page.set_viewport_size({"width": PHONE["width"], "height": PHONE["height"]})
    add_style(page, "html { font-size: 200% !important; }")
    page.evaluate("dispatchEvent(new Event('resize'))")
    page.evaluate("scrollTo(0, document.querySelector('.jumps').offsetTop + 400)")
    strip, bar = (page.locator(s).bounding_box() for s in (".strip", ".jumps"))
    assert strip
    assert bar
    assert strip["height"] > 80
    assert bar["y"] == pytest.approx(strip["height"], abs=1)
    page.close()


SMALL = """least => [...document.querySelectorAll(
    'a[href], button, summary, label, select, input:not(.view)')]
  .filter(e => e.checkVisibility({opacityProperty: true, visibilityProperty: true})
    && !e.closest('svg, .skip') && getComputedStyle(e).pointerEvents !== 'none')
  // Within a sentence a link is as high as its line.
  .filter(e => !(e.matches('a') && getComputedStyle(e).display === 'inline'))
  .filter(e => !(e.matches('label') && !e.htmlFor && !e.querySelector('input')))
  .filter(e => !(e.matches('label') && document.getElementById(e.htmlFor)?.type === 'search'))
  .map(e => [e.getBoundingClientRect().height, `${e.tagName} ${e.className} ${e.innerText}`])
  .filter(([height]) => height < least - .5).map(([height, says]) => `${says}: ${height}`)"""


def test_what_a_thumb_has_to_hit_is_large_enough_on_every_kind_of_page(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport=PHONE)
    found = {}
    kinds = one_of_each_kind(site)
    assert {"loads.html", "board.html", "failures.html"} & {path.name for path in kinds}
    for path in [*kinds, site / "block-1" / "loads.html"]:
        if path.name.startswith("handout"):
            continue  # to be printed
        page.goto(path.as_uri())
        as_opened = page.evaluate(SMALL, THUMB)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        found[path.name] = sorted({*as_opened, *page.evaluate(SMALL, THUMB)})
    assert {name: small for name, small in found.items() if small} == {}
    page.close()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize(
    "path",
    [
        "block-1/index.html",
        "block-1/overview.html",
        FAILURE,
        NAMED,
        "block-1/bus-essential.html",
        "block-1/equipment-starter-1.html",
        "block-1/function-attitude.html",
        "block-1/loads.html",
    ],
)
def test_the_smallest_text_of_a_drawing_can_be_read_as_it_opens(
    browser: Browser, site: Path, size: dict[str, int], path: str
) -> None:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.goto((site / path).as_uri())
    page.wait_for_selector("svg.diagram")
    sizes = page.evaluate(
        """() => [...document.querySelectorAll('svg.diagram :is(text, tspan)')]
        .filter(e => e.checkVisibility() && e.textContent.trim())
        .map(e => parseFloat(getComputedStyle(e).fontSize) * e.ownerSVGElement.getScreenCTM().a)"""
    )
    assert len(sizes) > 30
    assert min(sizes) >= READABLE - 0.05
    page.close()


@pytest.mark.parametrize(
    "path", ["block-1/bus-essential.html", "block-1/bus-mid.html", "block-3/bus-wall-right.html"]
)
def test_at_a_desk_what_is_on_a_bus_begins_on_the_first_screen_with_its_breakers(
    browser: Browser, site: Path, path: str
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / path).as_uri())
    page.wait_for_selector("svg.diagram")
    for name in (".lists h2", ".lists .item", ".lists .placard", ".lists .where"):
        box = page.locator(name).first.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] < DESK["height"], name
    drawing, feeders = page.locator(".picture").bounding_box(), page.locator(".rest").bounding_box()
    assert drawing is not None
    assert feeders is not None
    # The drawing keeps a third of the screen, and the feeders are beside the list.
    assert drawing["height"] > DESK["height"] / 3
    assert feeders["x"] + feeders["width"] <= drawing["x"]
    page.close()


def test_at_a_desk_both_lists_of_the_audit_are_below_its_headline(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1/audit.html").as_uri())
    headline = page.locator(".headline:visible")
    assert "6 single failures take an essential function" in headline.inner_text()
    tops = [page.locator(name).bounding_box() for name in ("#essential", "#pairs")]
    above = headline.bounding_box()
    assert above is not None
    for box in tops:
        assert box is not None
        assert above["y"] + above["height"] < box["y"] < DESK["height"] / 2
    page.close()


def chosen(page: Page) -> str:
    return page.locator(".conditions > summary").inner_text().split("\n")[-1]


def test_the_condition_is_remembered_across_a_link_to_a_place_and_a_reload(
    browser: Browser, site: Path
) -> None:
    context = browser.new_context(viewport=PHONE)
    page = context.new_page()
    page.goto((site / FAILURE).as_uri())
    first = chosen(page)
    choose(page, 4)
    name = chosen(page)
    assert name != first
    page.locator(".jumps a", has_text="Drawing").click()
    page.wait_for_url("**/failure-forward.html#drawing")
    assert chosen(page) == name
    page.reload()
    assert chosen(page) == name
    # To a place of another page, and from there to a page by an address without a condition.
    page.goto((site / "block-1" / "conditions.html").as_uri() + "#assumed")
    page.goto((site / NAMED).as_uri())
    assert chosen(page) == name
    page.goto((site / "block-2" / "bus-forward.html").as_uri())
    assert chosen(page) == name
    # What the address names comes first, and is remembered instead.
    page.goto((site / FAILURE).as_uri() + "#view-0")
    assert chosen(page) == first
    page.goto((site / NAMED).as_uri())
    assert chosen(page) == first
    # Another window begins with the first condition.
    choose(page, 4)
    other = context.new_page()
    other.goto((site / NAMED).as_uri())
    assert chosen(other) == first
    context.close()
