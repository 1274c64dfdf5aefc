"""The drawings in the hand: pan, zoom, steps and cards, by finger, mouse and keyboard.

What each gesture should do is common practice, no source, but for the size of targets and the way
of the focus: WCAG 2.2, 2.4.3 and 2.5.8 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESK, PHONE

OVERVIEW = "block-1/overview.html"
NAMED = "block-1/named-failure-both-generators.html"
BUS = "block-1/failure-forward.html"
FEED = "block-1/bus-essential.html"
THUMB = 44


@contextmanager
def opened(
    browser: Browser,
    path: Path,
    size: dict[str, int] = DESK,
    script: bool = True,
    calm: bool = False,
) -> Iterator[Page]:
    """A page from its folder; at the end nothing may have failed or been asked for outside."""
    complaints: list[str] = []
    context = browser.new_context(
        viewport={"width": size["width"], "height": size["height"]},
        has_touch=size is PHONE,
        java_script_enabled=script,
        reduced_motion="reduce" if calm else "no-preference",
    )
    page = context.new_page()
    page.on("pageerror", lambda error: complaints.append(f"script: {error}"))
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on(
        "request",
        lambda r: None if r.url.startswith(("file:", "data:")) else complaints.append(r.url),
    )
    page.goto(path.as_uri())
    yield page
    context.close()
    assert complaints == []


def width(page: Page) -> float:
    """How wide the drawing is shown, CSS px."""
    return float(
        page.evaluate("document.querySelector('svg.diagram').getBoundingClientRect().width")
    )


def room(page: Page) -> dict[str, float]:
    found: dict[str, float] = page.evaluate(
        """() => { const p = document.querySelector('.pan'); return {
          wide: p.clientWidth, high: p.clientHeight, all: p.scrollWidth, tall: p.scrollHeight,
          left: p.scrollLeft, top: p.scrollTop, page: scrollY}; }"""
    )
    return found


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("path", [OVERVIEW, "block-1/index.html"])
def test_the_overview_opens_fitted(
    browser: Browser, site: Path, size: dict[str, int], path: str
) -> None:
    with opened(browser, site / path, size) as page:
        box = room(page)
        assert box["all"] <= box["wide"] + 1
        assert box["tall"] <= box["high"] + 1
        drawing = page.locator("svg.diagram").first.bounding_box()
        assert drawing
        # It fills the room in one direction at least.
        assert max(width(page) / box["wide"], drawing["height"] / box["high"]) > 0.9


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_buttons_zoom_and_fit_and_are_large_enough(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    with opened(browser, site / OVERVIEW, size, calm=True) as page:
        fitted = width(page)
        for button in page.locator(".tools button").all():
            box = button.bounding_box()
            assert box
            assert min(box["width"], box["height"]) >= THUMB
        page.get_by_role("button", name="Larger").click()
        page.get_by_role("button", name="Larger").click()
        assert width(page) > 1.5 * fitted
        page.get_by_role("button", name="Smaller").click()
        assert fitted < width(page) < 1.5 * fitted
        page.get_by_role("button", name="Fit").click()
        assert width(page) == pytest.approx(fitted, abs=1)


def test_keys_zoom_and_move(browser: Browser, site: Path) -> None:
    with opened(browser, site / OVERVIEW) as page:
        fitted = width(page)
        page.locator(".pan").focus()
        for _ in range(5):
            page.keyboard.press("+")
        large = width(page)
        assert large > 2 * fitted
        before = room(page)
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowDown")
        after = room(page)
        assert after["left"] > before["left"]
        assert after["top"] > before["top"]
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("ArrowUp")
        again = room(page)
        assert (again["left"], again["top"]) == (before["left"], before["top"])
        page.keyboard.press("-")
        assert width(page) < large
        page.keyboard.press("0")
        assert width(page) == pytest.approx(fitted, abs=1)


def test_the_wheel_zooms_where_it_points_and_the_mouse_drags(browser: Browser, site: Path) -> None:
    # In a window that the drawing fills: one that is narrower than its room stays in the middle.
    with opened(browser, site / OVERVIEW, {"width": 500, "height": 900}) as page:
        battery = page.locator("a.battery").bounding_box()
        assert battery
        x, y = battery["x"] + battery["width"] / 2, battery["y"] + battery["height"] / 2
        fitted = width(page)
        page.mouse.move(x, y)
        for _ in range(4):
            page.mouse.wheel(0, -200)
        page.wait_for_timeout(100)
        assert width(page) > 2 * fitted
        now = page.locator("a.battery").bounding_box()
        assert now
        assert now["x"] < x < now["x"] + now["width"]
        before = room(page)
        page.mouse.down()
        page.mouse.move(x - 60, y - 40, steps=4)
        page.mouse.up()
        after = room(page)
        assert after["left"] - before["left"] == pytest.approx(60, abs=8)
        assert after["top"] - before["top"] == pytest.approx(40, abs=8)
        # The end of a drag is no tap.
        assert page.locator(".part-card").count() == 0
        assert page.url.endswith(OVERVIEW)


def test_the_wheel_scrolls_the_page_of_a_failure_as_it_does_everywhere(
    browser: Browser, site: Path
) -> None:
    with opened(browser, site / NAMED) as page:
        before = width(page)
        box = page.locator(".pan").bounding_box()
        assert box
        page.mouse.move(box["x"] + 50, box["y"] + 50)
        page.mouse.wheel(0, 100)
        page.wait_for_timeout(150)
        assert width(page) == before


def test_two_fingers_pinch_and_one_drags(browser: Browser, site: Path) -> None:
    with opened(browser, site / OVERVIEW, PHONE) as page:
        box = page.locator(".pan").bounding_box()
        assert box
        x, y = box["x"] + box["width"] / 2, box["y"] + 120
        touch = page.context.new_cdp_session(page)

        def fingers(kind: str, *at: tuple[float, float]) -> None:
            points = [{"x": px, "y": py, "id": n} for n, (px, py) in enumerate(at)]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

        fitted = width(page)
        fingers("touchStart", (x - 20, y), (x + 20, y))
        for spread in range(20, 90, 10):
            fingers("touchMove", (x - spread, y), (x + spread, y))
        fingers("touchEnd")
        page.wait_for_timeout(100)
        assert width(page) > 2 * fitted
        assert page.evaluate("visualViewport.scale") == 1
        before = room(page)
        fingers("touchStart", (x, y))
        for step in range(10, 90, 10):
            fingers("touchMove", (x - step, y - step / 2))
        fingers("touchEnd")
        page.wait_for_timeout(100)
        after = room(page)
        assert after["left"] > before["left"] + 40
        assert after["top"] > before["top"] + 10
        assert page.locator(".part-card").count() == 0


def test_without_a_script_the_overview_scrolls_and_parts_are_links(
    browser: Browser, site: Path
) -> None:
    with opened(browser, site / OVERVIEW, PHONE, script=False) as page:
        assert page.locator(".tools").count() == 0
        page.locator("a.bus").first.click()
        page.wait_for_url("**/bus-forward.html")


def shown(page: Page) -> dict[str, str]:
    """By part the state that its word tells; the first one of each id."""
    found: dict[str, str] = page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll('svg.diagram [data-part]')]
          .reverse().map(p => [p.dataset.part, [...p.querySelectorAll('.word tspan')]
          .filter(e => e.checkVisibility()).map(e => e.textContent).join(' ')]))"""
    )
    return found


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_failure_is_stepped_through_before_at_once_after_the_crew(
    browser: Browser, site: Path, size: dict[str, int], script: bool
) -> None:
    with opened(browser, site / NAMED, size, script=script) as page:
        labels = page.locator(".step-row label:visible")
        assert labels.all_inner_texts() == ["Before", "At once", "Crew has acted"]
        labels.nth(0).click()
        before = shown(page)
        assert before["gen-1"] == ""
        assert before["forward"] == "LIVE"
        assert page.locator(".steps p:visible").inner_text() == "Nothing has failed yet."
        assert page.locator(".headline:visible").count() == 0
        labels.nth(1).click()
        at_once = shown(page)
        assert at_once["gen-1"] == "FAILED"
        assert at_once["forward"] == "BATT"
        assert at_once["k-gen-1"] == "OPEN"
        says = page.locator(".steps p:visible").inner_text()
        assert says.startswith("Opens: Generator 1 line contactor")
        assert "dead: Utility bus, Cabin bus, Survey bus" in says
        labels.nth(2).click()
        assert shown(page)["avionics-2"] == "DEAD"
        says = page.locator(".steps p:visible").inner_text()
        assert "dead: Avionics bus 2" in says
        assert "Generator 1 line contactor" not in says


def test_steps_stay_under_the_thumb(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED, PHONE) as page:
        page.locator(".steps").scroll_into_view_if_needed()
        for n in (0, 1, 2, 0, 2):
            label = page.locator(".step-row label:visible").nth(n)
            before = label.bounding_box()
            assert before
            assert before["height"] >= THUMB
            label.click()
            after = page.locator(".step-row label:visible").nth(n).bounding_box()
            assert after
            assert after["y"] == pytest.approx(before["y"], abs=2)


def test_arrow_keys_step(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED) as page:
        page.locator(".step-row label > span:visible").nth(1).focus()
        page.keyboard.press("ArrowRight")
        assert page.locator("input.view:checked").get_attribute("id") == "view-6"
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("ArrowLeft")
        assert page.locator(".before:checked").count() == 1
        pressed = page.locator(".step-row span[aria-pressed=true]:visible")
        assert pressed.all_inner_texts() == ["Before"]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_tap_opens_the_card_and_a_second_tap_the_page(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    with opened(browser, site / FEED, size) as page:
        part = page.locator("a.bus.wanted .label").first
        part.click()
        card = page.locator(".part-card")
        card.wait_for()
        text = " ".join(card.inner_text().split())
        assert text.startswith("Essential bus Live Cruise")
        assert "Can be fed from Forward bus, Aft bus" in text
        assert "Can feed Aft bus, Avionics bus 1" in text
        box = card.bounding_box()
        assert box
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= size["width"]
        assert box["y"] + box["height"] <= size["height"] + 1
        assert card.evaluate("e => e === document.activeElement")
        page.keyboard.press("Escape")
        assert card.count() == 0
        assert page.evaluate("document.activeElement.dataset.part") == "essential"
        page.locator("a.breaker .label").first.click()
        card.wait_for()
        assert "Closed, live" in card.inner_text()
        page.mouse.click(5, 5) if size is DESK else page.touchscreen.tap(5, 300)
        assert card.count() == 0
        part.dispatch_event("click")
        card.wait_for()
        part.dispatch_event("click")
        page.wait_for_url("**/bus-essential.html")


def test_the_keyboard_opens_a_card_walks_in_it_and_comes_back(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED) as page:
        page.locator("a.contactor[data-part=k-gen-1]").focus()
        page.keyboard.press("Enter")
        card = page.get_by_role("dialog", name="Generator 1 line contactor")
        card.wait_for()
        assert "Open" in card.inner_text()
        assert "At once, Cruise" in card.inner_text()
        assert "Between Generator 1 and Forward bus" in card.inner_text()
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Its page: if it fails"
        page.keyboard.press("Escape")
        assert page.evaluate("document.activeElement.dataset.part") == "k-gen-1"
        page.keyboard.press("Enter")
        card.wait_for()
        page.keyboard.press("Enter")
        page.wait_for_url("**/failure-k-gen-1.html")


def test_a_card_says_the_state_of_the_part_in_the_view_that_is_chosen(
    browser: Browser, site: Path
) -> None:
    with opened(browser, site / BUS) as page:
        said = []
        for view in ("view-0", "view-12"):
            page.evaluate("v => document.getElementById(v).click()", view)
            page.locator("a.bus[data-part=forward]").dispatch_event("click")
            said.append(page.locator(".part-card .now").inner_text())
            page.keyboard.press("Escape")
        assert said == ["Failed Dead, Cruise", "Live Before, Cruise"]


def test_a_wire_has_a_card_too(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED) as page:
        page.locator("a.wire[data-part='gen-1..forward']").first.dispatch_event("click")
        assert "Generator 1 to Forward bus" in page.locator(".part-card").inner_text()
