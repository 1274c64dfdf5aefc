"""Day, night and high contrast: as the device has it, or as it was set; text up to twice as large.

The contrast of text is measured by axe-core (`test_access.py`); what is asked of high contrast here
is that of WCAG 2.2, 1.4.6 (7 to 1), from memory.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESK, PHONE, add_style
from tests.browser.test_access import one_of_each_kind

FAILURE = "block-1/failure-forward.html"
NAMED = "block-1/named-failure-both-generators.html"
DAY, NIGHT = "rgb(246, 243, 234)", "rgb(13, 18, 22)"
WHITE, BLACK = "rgb(255, 255, 255)", "rgb(0, 0, 0)"


def ground(page: Page) -> str:
    return str(page.evaluate("getComputedStyle(document.body).backgroundColor"))


@pytest.mark.parametrize(
    ("device", "shown"),
    [
        ({"color_scheme": "light"}, DAY),
        ({"color_scheme": "dark"}, NIGHT),
        ({"color_scheme": "light", "contrast": "more"}, WHITE),
        ({"color_scheme": "dark", "contrast": "more"}, BLACK),
    ],
    ids=["day", "night", "high contrast", "high contrast, dark"],
)
def test_the_look_is_the_device_s(
    browser: Browser, site: Path, device: dict[str, Any], shown: str
) -> None:
    context = browser.new_context(java_script_enabled=False, **device)
    page = context.new_page()
    page.goto((site / FAILURE).as_uri())
    assert ground(page) == shown
    context.close()


@pytest.mark.parametrize(
    ("choice", "shown"),
    [("Day", DAY), ("Night", NIGHT), ("High contrast", WHITE)],
)
def test_a_look_that_was_set_is_kept_from_page_to_page(
    browser: Browser, site: Path, choice: str, shown: str
) -> None:
    context = browser.new_context(viewport=PHONE, color_scheme="light")
    page = context.new_page()
    page.goto((site / FAILURE).as_uri())
    page.click(".strip .set")
    page.get_by_label(choice, exact=True).check()
    assert ground(page) == shown
    page.click(".settings-box button")
    page.goto((site / "block-1" / "a-to-z.html").as_uri())
    assert ground(page) == shown
    page.click(".strip .set")
    page.get_by_label("As the device").check()
    page.emulate_media(color_scheme="dark")
    assert ground(page) == NIGHT
    context.close()


CONTRAST = """() => {
  const light = c => {
    const [r, g, b] = c.match(/[\\d.]+/g).map(v => (v /= 255) <= .04045
      ? v / 12.92 : ((v + .055) / 1.055) ** 2.4);
    return .2126 * r + .7152 * g + .0722 * b;
  };
  const probe = document.body.appendChild(document.createElement('i'));
  const shown = name => {
    probe.style.color = `var(--${name})`;
    return light(getComputedStyle(probe).color);
  };
  const sheet = shown('sheet');
  return ['ink', 'soft', 'accent', 'warn', 'rule',
    'draw', 'live', 'battery', 'dead', 'open', 'failed']
    .filter(name => {
      const [low, high] = [sheet, shown(name)].sort((a, b) => a - b);
      return (high + .05) / (low + .05) < 7;
    });
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_in_high_contrast_every_colour_contrasts_seven_to_one(
    browser: Browser, site: Path, scheme: Any
) -> None:
    for device in ({"contrast": "more"}, {}):
        context = browser.new_context(color_scheme=scheme, **device)
        page = context.new_page()
        page.goto((site / FAILURE).as_uri())
        if not device:
            page.evaluate("document.documentElement.setAttribute('data-look', 'contrast')")
        assert page.evaluate(CONTRAST) == []
        context.close()


def test_the_finder_is_in_the_strip_wherever_the_page_is(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport=PHONE)
    page.goto((site / FAILURE).as_uri())
    for down in (0, 900, 100_000):
        page.evaluate("down => scrollTo(0, down)", down)
        find, strip = (page.locator(s).bounding_box() for s in (".strip .find", ".strip"))
        assert find
        assert strip
        assert min(find["width"], find["height"]) >= 44
        assert 0 <= strip["y"] <= find["y"]
        assert find["y"] + find["height"] <= strip["y"] + strip["height"] < 80
        assert find["x"] + find["width"] <= PHONE["width"]
        assert page.evaluate(
            "([x, y]) => document.elementFromPoint(x, y).matches('.find')",
            [find["x"] + find["width"] / 2, find["y"] + find["height"] / 2],
        )
    page.close()


# What is in a box that slides is not cut.
CUT = """() => [...document.querySelectorAll('body *')]
  .filter(e => e.checkVisibility() && !e.closest('svg, .skip, input'))
  .filter(e => {
    for (let box = e; box; box = box.parentElement)
      if (/auto|scroll/.test(getComputedStyle(box).overflowX)) return false;
    return true;
  })
  .filter(e => !/^absolute$/.test(getComputedStyle(e).position))
  .filter(e => {
    const box = e.getBoundingClientRect(), style = getComputedStyle(e);
    const out = box.width > 0 && (box.right > innerWidth + 1 || box.left < -1);
    const clipped = style.overflow !== 'visible' && e.scrollHeight > e.clientHeight + 1;
    return out || clipped;
  })
  .map(e => `${e.tagName} ${e.className} ${e.textContent.trim().slice(0, 30)}`)"""


def test_text_twice_as_large_is_neither_cut_nor_laid_over_other_text(
    browser: Browser, site: Path
) -> None:
    """WCAG 2.2, 1.4.4 (from memory)."""
    page = browser.new_page(viewport=PHONE)
    found = {}
    for path in one_of_each_kind(site):
        page.goto(path.as_uri())
        add_style(page, "html { font-size: 200% !important; }")
        found[path.name] = page.evaluate(CUT)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path.name
        whose, nav = (page.locator(s).bounding_box() for s in (".whose", ".strip nav"))
        assert whose
        assert nav
        apart = whose["y"] + whose["height"] <= nav["y"] + 1
        assert apart or whose["x"] + whose["width"] <= nav["x"] + 1, path.name
        assert page.evaluate(BROKEN_WORDS) == [], path.name
        assert page.evaluate(OUT_OF_THE_CHOICE) == [], path.name
    assert {name: cut for name, cut in found.items() if cut} == {}
    page.close()


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("board.html#c=cruise&f=k-gen-1:stuck-closed&p=cb-avionics-1", ".sources li"),
        (
            "diagnose.html#c=cruise&o=forward-volts%3A24,mid-volts%3A24,weather-radar%3Adead",
            ".check button",
        ),
        ("failure-essential.html", ".one-left li"),
    ],
)
def test_text_twice_as_large_fits_where_something_has_failed(
    browser: Browser, site: Path, path: str, shown: str
) -> None:
    page = browser.new_page(viewport=PHONE)
    page.goto(f"{(site / 'block-1').as_uri()}/{path}")
    page.locator(shown).first.wait_for(timeout=30_000)
    add_style(page, "html { font-size: 200% !important; }")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    rows = page.locator(f"{shown} > :first-child")
    assert [name for name in rows.all() if name.evaluate(MORE_LINES_THAN_WORDS)] == []
    page.close()


@pytest.mark.parametrize("name", ["board", "diagnose"])
@pytest.mark.parametrize(
    ("width", "percent", "drawing_from"), [(180, 100, 320), (360, 200, 480)], ids=["zoom", "text"]
)
def test_twice_as_large_the_aircraft_and_each_control_keep_their_words(
    browser: Browser, site: Path, name: str, width: int, percent: int, drawing_from: int
) -> None:
    """WCAG 2.2, 1.4.4 and 1.4.10 (from memory); without its serials a page may be of another."""
    page = browser.new_page(viewport={"width": width, "height": 740})
    page.goto((site / "block-2" / f"{name}.html").as_uri())
    add_style(page, f"html {{ font-size: {percent}% !important; }}")
    page.locator(".board-bar select").first.wait_for()
    assert page.inner_text(".whose .airframe") == "Serials 25 to 58"
    whose, nav, aid, bar = (
        page.locator(part).bounding_box()
        for part in (".whose .airframe", ".strip nav", ".aid", ".board-bar")
    )
    assert whose
    assert nav
    assert aid
    assert bar
    assert whose["x"] + whose["width"] <= width
    assert whose["y"] + whose["height"] <= nav["y"] + 1
    assert page.locator(".aid").evaluate(WORDS_OUTSIDE) == 0
    assert aid["y"] + aid["height"] <= bar["y"] + 1
    for words in page.locator(".board-bar span").all():
        assert words.evaluate("e => e.scrollWidth <= e.clientWidth + 1 && e.offsetWidth > 20")
    assert page.evaluate(PLACEHOLDERS_CUT) == []
    if name == "board":
        picture = page.locator(".board-picture").bounding_box()
        assert picture
        assert picture["y"] <= drawing_from
    page.close()


WORDS_OUTSIDE = """e => {
  const range = document.createRange(), box = e.getBoundingClientRect();
  range.selectNodeContents(e);
  return [...range.getClientRects()].filter(r => r.height < 40)
    .filter(r => r.top < box.top || r.bottom > box.bottom).length;
}"""
PLACEHOLDERS_CUT = """() => [...document.querySelectorAll('input[placeholder]')].filter(input => {
  const words = document.createElement('span');
  words.textContent = input.placeholder;
  const style = getComputedStyle(input), small = getComputedStyle(input, '::placeholder');
  words.style.cssText = 'position: absolute; white-space: nowrap';
  words.style.font = style.font;
  words.style.fontSize = small.fontSize;
  document.body.append(words);
  const room = input.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
  const cut = words.offsetWidth > room;
  words.remove();
  return cut;
}).map(input => input.placeholder)"""

# By the text itself: a link within has a box of its own.
MORE_LINES_THAN_WORDS = """e => {
  const texts = document.createTreeWalker(e, NodeFilter.SHOW_TEXT), lines = new Set();
  while (texts.nextNode()) {
    const range = document.createRange();
    range.selectNodeContents(texts.currentNode);
    for (const box of range.getClientRects()) lines.add(Math.round(box.bottom));
  }
  return lines.size > e.textContent.trim().split(/\\s+/).length;
}"""


# A label that has more lines than words, and the heading of the choice outside of its button.
BROKEN_WORDS = """() => [...document.querySelectorAll('.head .kind')]
  .filter(e => e.closest('.head').offsetWidth > 1)
  .filter(e => e.offsetHeight / parseFloat(getComputedStyle(e).lineHeight)
    > e.textContent.trim().split(/\\s+/).length + .9)
  .map(e => e.textContent)"""
BROKEN_NAMES = """() => [...document.querySelectorAll('.sources li > :first-child, .inputs label')]
  .filter(e => e.checkVisibility())
  .filter(e => { const now = e.offsetHeight; e.style.overflowWrap = 'normal';
    return e.scrollWidth > e.clientWidth + 1 || e.offsetHeight !== now; })
  .map(e => e.textContent)"""
OUT_OF_THE_CHOICE = """() => [...document.querySelectorAll('.conditions > summary .over')]
  .filter(e => e.getBoundingClientRect().right > e.parentElement.getBoundingClientRect().right)
  .map(e => e.textContent)"""


def test_text_twice_as_large_fits_at_a_desk(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport=DESK)
    found = {}
    for path in one_of_each_kind(site):
        page.goto(path.as_uri())
        add_style(page, "html { font-size: 200% !important; }")
        found[path.name] = page.evaluate(CUT)
        drawing = page.locator(".picture .pan").first
        if drawing.count() and drawing.is_visible():
            # Beside words there is room for a drawing, and for words.
            assert drawing.evaluate("e => e.clientWidth") > 300, path.name
        assert page.evaluate(BROKEN_NAMES) == [], path.name
    assert {name: cut for name, cut in found.items() if cut} == {}
    page.close()


def test_the_airframe_and_the_condition_are_side_by_side_on_a_phone(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport=PHONE)
    for path in one_of_each_kind(site):
        page.goto(path.as_uri())
        for view in range(page.locator("input.view").count()):
            page.evaluate("view => document.getElementById(`view-${view}`).click()", view)
            words, choice = (
                page.evaluate(
                    """name => {
                      const e = document.querySelector(name), range = document.createRange();
                      range.selectNodeContents(e);
                      return [e, range].map(one => one.getBoundingClientRect().toJSON());
                    }""",
                    name,
                )
                for name in (".whose .airframe", ".conditions > summary")
            )
            assert max(box["right"] for box in words) <= choice[0]["left"] + 1, (path.name, view)
    # Where there is room for the name of the aircraft it is on one line.
    page.goto((site / FAILURE).as_uri() + "#view-0")
    assert (
        page.locator(".whose a").first.evaluate(
            "e => { const r = document.createRange(); r.selectNodeContents(e);"
            " return r.getClientRects().length }"
        )
        == 1
    )
    page.close()


def test_a_hazard_is_in_one_box_and_a_table_of_a_note_fits_or_shows_that_it_slides(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport=PHONE)
    page.goto((site / "block-1" / "buses.html").as_uri())
    boxes = page.locator(".hazard").evaluate_all("all => all.map(e => e.getClientRects().length)")
    assert boxes
    assert set(boxes) == {1}
    tables = []
    for path in sorted((site / "block-1").glob("note-*.html")):
        page.goto(path.as_uri())
        tables += page.locator(".prose table").evaluate_all(
            """all => all.map(e => [e.scrollWidth <= e.clientWidth
              || /gradient/.test(getComputedStyle(e).backgroundImage), e.textContent])"""
        )
        # The table that a pilot reads in flight needs no sliding.
        if path.stem == "note-ring-meters":
            assert page.locator(".prose table").first.evaluate(
                "e => e.scrollWidth <= e.clientWidth"
            )
    assert len(tables) > 1
    assert [text for fits, text in tables if not fits] == []
    page.close()


def test_colours_of_the_device_s_own_are_taken_for_what_is_drawn_and_chosen(
    browser: Browser, site: Path
) -> None:
    context = browser.new_context(viewport=PHONE, forced_colors="active", color_scheme="dark")
    page = context.new_page()
    page.goto((site / FAILURE).as_uri())
    of = "e => { const s = getComputedStyle(e); return [s.color, s.backgroundColor] }"
    chosen = page.locator("label[for=view-0]").first.evaluate(of)
    other = page.locator("label[for=view-1]").first.evaluate(of)
    assert chosen == other[::-1]
    assert page.locator("svg.diagram .bar").first.evaluate(
        "e => getComputedStyle(e).stroke"
    ) == page.evaluate("getComputedStyle(document.body).color")
    context.close()


# Chrome puts a ground of its own behind words; only without it can both colours be exchanged.
ON_ITS_OWN_COLOUR = """() => {
  const probe = document.createElement('i');
  probe.style.cssText = 'color: var(--on-chosen); forced-color-adjust: none';
  document.body.append(probe);
  const exchanged = getComputedStyle(probe).color;
  probe.remove();
  return [...document.querySelectorAll('body *')]
    .filter(e => e.checkVisibility() && (e.value || e.textContent).toString().trim())
    .filter(e => getComputedStyle(e).color === exchanged)
    .map(e => [getComputedStyle(e).forcedColorAdjust, `${e.tagName} ${e.className}`]);
}"""


def test_with_the_device_s_own_colours_what_is_chosen_can_be_read(
    browser: Browser, site: Path
) -> None:
    context = browser.new_context(viewport=PHONE, forced_colors="active")
    page = context.new_page()
    chosen = set()
    for path in [site / NAMED, *one_of_each_kind(site)]:
        page.goto(path.as_uri())
        if path.name == "diagnose.html":
            page.locator(".meter .stepper button").first.click()
        if path.name in (FAILURE.partition("/")[2], NAMED.partition("/")[2]):
            page.wait_for_selector(".steps")
        found = page.evaluate(ON_ITS_OWN_COLOUR)
        chosen |= {element for _, element in found}
        assert {element for adjust, element in found if adjust != "none"} == set(), path.name
    assert len(chosen) > 4
    # The bands of the buses and the marks of a small map are drawn, not only named.
    page.goto((site / "block-1" / "panel-right-wall.html").as_uri())
    bands = page.locator(".bus-band").evaluate_all(
        "all => all.map(e => getComputedStyle(e).backgroundImage)"
    )
    assert len(set(bands)) > 4
    assert "none" not in bands
    context.close()


def test_nothing_moves_where_less_motion_is_asked_for(browser: Browser, site: Path) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto((site / FAILURE).as_uri())
    assert page.evaluate(
        """[...document.querySelectorAll('*')].every(e => {
          const s = getComputedStyle(e);
          return s.animationName === 'none' && parseFloat(s.transitionDuration) === 0;
        })"""
    )
    context.close()
