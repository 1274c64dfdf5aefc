"""The drawings in the browser: pan, zoom, steps and cards, by finger, mouse and keyboard.

What each gesture should do is common practice, no source, but for the size of targets and the way
of the focus: WCAG 2.2, 2.4.3 and 2.5.8 (from memory).
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from sitegen.answers.drop import drop
from sitegen.catalogue.read import read
from sitegen.pages.drawing_states import drawn_branches, states
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from tests.browser.conftest import DESK, PHONE, choose
from tests.samples import sample_size

OVERVIEW = "block-1/overview.html"
NAMED = "block-1/named-failure-both-generators.html"
BUS = "block-1/failure-forward.html"
FEED = "block-1/bus-essential.html"
ITEM = "block-1/equipment-starter-1.html"
MORE = ("block-1/function-attitude.html", "block-1/loads.html")
READABLE = 9
"""The least height of a letter, CSS px."""
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
@pytest.mark.parametrize("path", [OVERVIEW, "block-1/index.html", NAMED, BUS, FEED, ITEM, *MORE])
def test_a_drawing_opens_large_enough_to_read_with_its_part_in_view(
    browser: Browser, site: Path, size: dict[str, int], path: str
) -> None:
    with opened(browser, site / path, size) as page:
        found = page.evaluate(
            """() => {
              const pan = document.querySelector('.pan'), box = pan.getBoundingClientRect();
              const svg = pan.querySelector('svg'), wide = svg.getBoundingClientRect().width;
              const about = JSON.parse(document.querySelector('figure').dataset.views)[0].fails;
              const ids = document.querySelector('figure').dataset.about?.split(' ')
                || (about || []).map(f => f[0]);
              const inView = at => at.left >= box.left - 1 && at.right <= box.right + 1
                && at.top >= box.top - 1 && at.bottom <= box.bottom + 1;
              const parts = [...svg.querySelectorAll('[role=button]')];
              const cut = parts.filter(p => { const at = p.getBoundingClientRect();
                return at.top < box.top - 1 && at.bottom > box.top + 1
                  && at.right > box.left && at.left < box.right; });
              return {scale: wide / svg.viewBox.baseVal.width, ids: ids.length,
                seen: ids.filter(id => inView(svg.querySelector(`[data-part="${id}"]`)
                  .getBoundingClientRect())).length,
                cut: cut.map(p => p.dataset.part)};
            }"""
        )
        assert 10.5 * found["scale"] >= READABLE - 0.05
        assert found["scale"] <= 1
        # Of several on a phone one at least; a single one is all there.
        assert found["seen"] >= min(found["ids"], 1)
        assert found["cut"] == []


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("path", [BUS, FEED, ITEM])
def test_the_box_has_its_height_before_the_drawing_comes(
    browser: Browser, site: Path, size: dict[str, int], path: str
) -> None:
    """Seen by a page whose drawing never comes: what is below moves by the steps at most."""
    places = []
    for block in (True, False):
        page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
        if block:
            page.route("**/pictures.js", lambda route: route.abort())
        page.goto((site / path).as_uri())
        places.append(
            page.evaluate(
                "[...document.querySelectorAll('#answer, .words, footer')]"
                ".map(e => Math.round(e.getBoundingClientRect().top))"
            )
        )
        page.close()
    waiting, drawn = places
    # The answer and the words never move.
    assert waiting[:-1] == drawn[:-1]
    assert abs(waiting[-1] - drawn[-1]) < 160


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_buttons_zoom_and_fit_and_are_large_enough(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    with opened(browser, site / OVERVIEW, size, calm=True) as page:
        page.get_by_role("button", name="Fit").click()
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


CUT = """() => {
  const pan = document.querySelector('.pan').getBoundingClientRect();
  const across = (b, edge) => b.left < edge - 1 && b.right > edge + 1;
  const parts = [...document.querySelectorAll('.pan .part:not(.wire)')]
    .map(e => [e.dataset.part, e.getBoundingClientRect()])
    .filter(([, b]) => b.top < innerHeight && b.right > pan.left && b.left < pan.right);
  return [parts.length, parts.filter(([, b]) => across(b, pan.left) || across(b, pan.right))
    .map(([id]) => id)];
}"""


@pytest.mark.parametrize("airframe", ["block-1", "block-2", "block-3"])
def test_the_first_screen_of_a_front_page_cuts_through_no_part_of_the_drawing(
    browser: Browser, site: Path, airframe: str
) -> None:
    with opened(browser, site / airframe / "index.html", PHONE) as page:
        seen, cut = page.evaluate(CUT)
        assert seen >= 4
        assert cut == []


def test_keys_zoom_and_lead_along_the_feeders(browser: Browser, site: Path) -> None:
    with opened(browser, site / FEED) as page:
        here = "document.activeElement.dataset.part"
        assert page.locator(".picture [role=button][tabindex='0']").count() == 1
        page.locator(".picture [role=button][tabindex='0']").focus()
        assert page.evaluate(here) == "essential"
        first = width(page)
        page.keyboard.press("+")
        assert width(page) > first
        page.keyboard.press("-")
        assert width(page) == pytest.approx(first, abs=1)
        page.keyboard.press("ArrowUp")
        above = page.evaluate(here)
        assert above in ("k-ess-aft", "d-ess-forward")
        page.keyboard.press("ArrowDown")
        assert page.evaluate(here) == "essential"
        walked = []
        for _ in range(8):
            page.keyboard.press("ArrowUp")
            walked.append(page.evaluate(here))
            box = page.locator(f"[data-part='{walked[-1]}']").first.bounding_box()
            pan = page.locator(".pan").bounding_box()
            assert box
            assert pan
            assert box["y"] + box["height"] > pan["y"]
            assert box["y"] < pan["y"] + pan["height"]
        # Up along the feeders is a source.
        assert walked[-1] in ("gen-1", "gen-2", "battery", "external-power")
        assert page.locator(".picture [role=button][tabindex='0']").count() == 1
        page.keyboard.press("0")
        box = room(page)
        assert box["all"] <= box["wide"] + 1


def test_a_part_says_its_name_and_state_and_wires_are_hidden(browser: Browser, site: Path) -> None:
    with opened(browser, site / BUS) as page:
        part = page.locator("[data-part=forward][role=button]")
        assert part.get_attribute("aria-label") == "Forward bus: failed"
        page.locator(".steps button").first.click()
        assert part.get_attribute("aria-label") == "Forward bus: live"
        wires = page.locator("a.wire")
        assert wires.count() > 30
        assert set(wires.evaluate_all("all => all.map(e => e.getAttribute('aria-hidden'))")) == {
            "true"
        }
        assert page.locator("[aria-live]:visible").count() == 1


def test_the_drawing_in_words_follows_the_view(browser: Browser, site: Path) -> None:
    with opened(browser, site / BUS) as page:
        words = page.locator(".in-words")
        words.locator("summary").click()
        words.locator("li").first.wait_for()
        assert "Forward bus failed" in words.inner_text()
        page.locator(".steps button").first.click()
        assert "Forward bus live" in words.inner_text()
        assert words.locator("li").count() > 20


def test_the_wheel_zooms_where_it_points_and_the_mouse_drags(browser: Browser, site: Path) -> None:
    # In a window that the drawing fills: one that is narrower than its room stays in the middle.
    with opened(browser, site / OVERVIEW, {"width": 500, "height": 900}) as page:
        page.locator("a.battery").scroll_into_view_if_needed()
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


def test_without_a_script_the_overview_has_a_picture_of_the_chosen_condition(
    browser: Browser, site: Path
) -> None:
    with opened(browser, site / OVERVIEW, PHONE, script=False) as page:
        assert page.locator(".tools").count() == 0
        stills = page.locator("img.still")
        shown = stills.evaluate_all(
            "all => all.map(e => [e.checkVisibility(), e.complete && e.naturalWidth > 500])"
        )
        assert shown == [[k == 0, True] for k in range(6)]
        choose(page, 4)
        assert stills.nth(4).is_visible()
        assert not stills.nth(0).is_visible()


def test_with_scripts_the_picture_is_not_fetched(browser: Browser, site: Path) -> None:
    page = browser.new_page()
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    page.goto((site / OVERVIEW).as_uri())
    page.wait_for_selector("svg.diagram")
    page.close()
    assert not [url for url in asked if "drawing.svg" in url]
    assert [url for url in asked if url.endswith("live.js")]


@pytest.mark.parametrize("path", [NAMED, BUS, FEED, ITEM])
def test_without_a_script_a_page_leads_to_those_pictures(
    browser: Browser, site: Path, path: str
) -> None:
    with opened(browser, site / path, PHONE, script=False) as page:
        page.locator(".picture a:has-text('A picture for each condition')").click()
        page.wait_for_url("**/overview.html")


def shown(page: Page) -> dict[str, str]:
    """By part the state that its word tells; the first one of each id."""
    found: dict[str, str] = page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll('svg.diagram [data-part]')]
          .reverse().map(p => [p.dataset.part, [...p.querySelectorAll('.word tspan')]
          .filter(e => e.checkVisibility()).map(e => e.textContent).join(' ')]))"""
    )
    return found


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_failure_is_stepped_through_before_at_once_after_the_crew(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    with opened(browser, site / NAMED, size) as page:
        labels = page.locator(".steps button")
        # The stage is chosen in the page's head, once; the drawing has that one and before.
        assert labels.all_inner_texts() == ["Before", "At once"]
        labels.nth(0).click()
        before = shown(page)
        assert before["gen-1"] == ""
        assert before["forward"] == "LIVE"
        assert page.locator(".says").inner_text() == "Nothing has failed yet."
        # The answer stays where it is.
        assert page.locator(".headline:visible").count() == 1
        labels.nth(1).click()
        at_once = shown(page)
        assert at_once["gen-1"] == "FAILED"
        assert at_once["forward"] == "BATT"
        assert at_once["k-gen-1"] == "OPEN"
        says = page.locator(".says").inner_text()
        assert says.startswith("Opens: Generator 1 line contactor")
        assert "dead: Utility bus, Cabin bus, Survey bus" in says
        page.locator(".mode-row label:visible", has_text="Crew has acted").click()
        assert labels.all_inner_texts() == ["Before", "Crew has acted"]
        assert shown(page)["avionics-2"] == "DEAD"
        says = page.locator(".says").inner_text()
        assert "dead: Avionics bus 2" in says
        assert "Generator 1 line contactor" not in says


def test_steps_stay_under_the_thumb(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED, PHONE) as page:
        page.locator(".steps").scroll_into_view_if_needed()
        for n in (0, 1, 0, 1):
            label = page.locator(".steps button").nth(n)
            before = label.bounding_box()
            assert before
            assert before["height"] >= THUMB
            label.click()
            after = page.locator(".steps button").nth(n).bounding_box()
            assert after
            assert after["y"] == pytest.approx(before["y"], abs=2)


def test_arrow_keys_step(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED) as page:
        page.locator(".steps button").nth(1).focus()
        pressed = page.locator(".steps button[aria-pressed=true]")
        for key, step in (("Left", "Before"), ("Left", "Before"), ("Right", "At once")):
            page.keyboard.press(f"Arrow{key}")
            assert pressed.all_inner_texts() == [step]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_tap_opens_the_card_of_a_part(browser: Browser, site: Path, size: dict[str, int]) -> None:
    with opened(browser, site / FEED, size) as page:
        part = page.locator("a.bus[data-part=essential] .label")
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
        page.locator(
            "a.breaker[data-part=cb-ess-fwd] .label, a.breaker .label"
        ).first.dispatch_event("click")
        card.wait_for()
        assert "Closed, live" in card.inner_text()
        page.locator("h1").dispatch_event("pointerdown")
        assert card.count() == 0
        part.dispatch_event("click")
        card.get_by_text("Its page").click()
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
        assert page.evaluate("document.activeElement.closest('.part-card') !== null")
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
        for step in (1, 0):
            page.locator(".steps button").nth(step).click()
            page.locator("a.bus[data-part=forward]").dispatch_event("click")
            said.append(page.locator(".part-card .now").inner_text())
            page.keyboard.press("Escape")
        assert said == ["Failed Dead, Cruise", "Live Before, Cruise"]


def test_a_wire_has_a_card_too(browser: Browser, site: Path) -> None:
    with opened(browser, site / NAMED) as page:
        page.locator("a.wire[data-part='gen-1..forward']").first.dispatch_event("click")
        assert "Generator 1 to Forward bus" in page.locator(".part-card").inner_text()


@pytest.mark.parametrize("condition", [0, 3])
def test_every_part_is_painted_as_the_package_draws_it(
    browser: Browser, site: Path, condition: int
) -> None:
    """A sample of the single failures of the demo's first airframe, in two conditions."""
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue
    network = build(catalogue, "block-1")
    wiring = drawn_branches(network.catalogue)
    name = network.catalogue.conditions[condition].id
    paged = [c for c in network.components if (site / f"block-1/failure-{c}.html").exists()]
    chosen = random.Random(condition).sample(paged, sample_size(20))
    rows = len(network.catalogue.conditions)
    page = browser.new_page()
    for component in chosen:
        page.goto((site / "block-1" / f"failure-{component}.html").as_uri())
        views = page.evaluate("JSON.parse(document.querySelector('figure').dataset.views)")
        for row, mode in enumerate(view["fails"][0][1] for view in views):
            page.evaluate(
                "view => document.getElementById(`view-${view}`).click()", condition + row * rows
            )
            painted = page.evaluate(
                """() => [...document.querySelectorAll('svg.diagram .part')].map((e, i) =>
                  [airframe.parts[i], [...e.classList].filter(c => c.startsWith('state-'))
                    .map(c => c.slice(6)).join(' ')])"""
            )
            expected = states(network, wiring, drop(network, name, [(component, mode)]))
            assert len({number for number, _ in painted}) == len(expected)
            assert all(expected[number] == state for number, state in painted), (component, mode)
    page.close()


@pytest.mark.parametrize("path", [NAMED, BUS, FEED, ITEM, OVERVIEW, "block-1/index.html"])
def test_the_content_security_policy_has_nothing_to_report(
    browser: Browser, site: Path, path: str
) -> None:
    page = browser.new_page()
    page.add_init_script(
        "window.reports = []; addEventListener('securitypolicyviolation', e =>"
        " reports.push(`${e.violatedDirective} ${e.blockedURI} ${e.sourceFile}`))"
    )
    page.goto((site / path).as_uri())
    page.wait_for_selector("svg.diagram")
    page.locator("a.bus").first.dispatch_event("click")
    assert page.evaluate("reports") == []
    # And it is in force: what the page did not bring does not run.
    page.evaluate(
        "document.head.appendChild(Object.assign(document.createElement('script'),"
        " {textContent: 'window.ran = true'}))"
    )
    assert page.evaluate("window.ran") is None
    page.close()


def test_and_also_leads_to_the_board_with_what_has_failed_here(
    browser: Browser, site: Path
) -> None:
    with opened(browser, site / BUS, PHONE) as page:
        also = page.locator("a.and-also")
        condition = "document.querySelectorAll('input.view')"
        assert page.evaluate(condition + ".length") == 12
        assert (also.get_attribute("href") or "").endswith("&f=forward:dead")
        page.evaluate("document.getElementById('view-7').click()")
        there = page.evaluate("airframe.wiring.conditions[1].id")
        assert also.get_attribute("href") == f"board.html#c={there}&f=forward:shorted"
        page.locator("[data-part=gen-1]").first.dispatch_event("click")
        links = page.locator(".part-card .also a")
        assert links.all_inner_texts() == ["lost", "shorted"]
        links.first.click()
        page.wait_for_url(f"**/board.html#c={there}&f=forward:shorted,gen-1:lost")


def test_where_contactors_are_expected_to_drop_out_the_drawing_shows_it(
    browser: Browser, site: Path
) -> None:
    """What the page says without power is dead in its drawing; the board finds that by itself."""
    with opened(browser, site / "block-1" / "named-failure-aft-short.html", PHONE) as page:
        states = "e => e.getAttribute('class') || ''"
        assert "state-dead" in page.locator("[data-part=utility]").first.evaluate(states).split()
        also = page.locator("a.and-also")
        assert (also.get_attribute("href") or "").endswith("&f=aft:shorted")
        left = page.locator("[data-list=left]")
        left.evaluate("e => { e.closest('#left').open = true; e.open = true }")
        page.wait_for_selector("[data-list=left] li")
        said = left.locator("summary").inner_text()
        assert said.split()[0] == str(left.locator("li").count())
        page.locator("[data-part=gen-1]").first.dispatch_event("click")
        link = page.locator(".part-card .also a").first.get_attribute("href") or ""
        assert link.endswith("&f=aft:shorted,gen-1:lost")
        lost = page.locator("#answer b").first.inner_text().split()[0]
        also.click()
        page.wait_for_url("**/board.html#*")
        assert page.locator(".board-answer .first").inner_text().startswith(f"{lost} lost")


def test_what_the_crew_gets_back_has_closed_since_the_failure(browser: Browser, site: Path) -> None:
    """The utility contactor has dropped out on the short, and is reset."""
    with opened(browser, site / "block-1" / "named-failure-aft-short.html", PHONE) as page:
        assert page.locator("#crew details:visible summary").count() == 0
        page.locator(".modes label:visible", has_text="Crew has acted").click()
        says = page.locator(".says").inner_text()
        assert "closes: Utility contactor, Cabin contactor, Survey contactor" in says
        assert "live: Utility bus, Cabin bus, Survey bus" in says
        again = page.locator("#crew details:visible summary").all_inner_texts()
        assert again == ["27 items work again", "1 item turned off, not lost"]


def test_the_drawing_is_of_what_the_crew_does_in_the_condition(
    browser: Browser, site: Path
) -> None:
    """In flight essential emergency brings its bus back; on the ground the crew leaves it off."""
    with opened(browser, site / "block-3" / "named-failure-all-but-batteries.html", PHONE) as page:
        conditions = page.evaluate("airframe.wiring.conditions.map(c => c.id)")
        size, ground = len(conditions), conditions.index("battery-only")
        choose(page, size)
        assert shown(page)["essential"] == "BATT"
        choose(page, size + ground)
        assert shown(page)["essential"] == "DEAD"
        assert shown(page)["standby"] == "DEAD"
        off = page.locator("[data-list=shed]")
        off.locator("summary").click()
        page.wait_for_selector("[data-list=shed] li")
        assert off.locator("summary").inner_text() == "5 items turned off, not lost"
        assert off.locator("li").count() == 5
        set_there = page.locator("a.and-also").get_attribute("href") or ""
        assert "battery-master" in set_there
        assert "emergency-feed" not in set_there


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_what_a_drawing_says_is_cut_after_a_whole_line(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    """Where it is long, what shows the rest is at the end of the last line."""
    long = site / "block-1" / "named-failure-all-but-batteries.html"
    with opened(browser, long, size) as page:
        box = page.locator(".saying > div")
        line = float(box.evaluate("e => parseFloat(getComputedStyle(e).lineHeight)"))
        whole = box.evaluate("e => e.scrollHeight")
        assert box.evaluate("e => e.clientHeight") == pytest.approx(3 * line, abs=1)
        assert whole > 3.5 * line
        more = page.locator(".saying .more")
        at, around = more.bounding_box(), box.bounding_box()
        assert at
        assert around
        # Its middle is in the last of the lines.
        assert around["height"] - line < at["y"] + at["height"] / 2 - around["y"] < around["height"]
        more.click()
        assert not more.is_visible()
        assert box.evaluate("e => e.clientHeight") > 3.5 * line
    with opened(browser, site / FEED, size) as page:
        assert not page.locator(".saying .more").is_visible()
