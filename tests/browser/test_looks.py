"""Day, night and high contrast: as the device has it, or as it was set; text up to twice as large.

The contrast of text is measured by axe-core (`test_access.py`); what is asked of high contrast here
is that of WCAG 2.2, 1.4.6 (7 to 1), from memory.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE, add_style
from tests.browser.test_access import one_of_each_kind

FAILURE = "block-1/failure-forward.html"
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
  // A folded list names what fits on two lines, with dots; unfolded it has all.
  .filter(e => !e.matches('summary > .named'))
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
    assert {name: cut for name, cut in found.items() if cut} == {}
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
