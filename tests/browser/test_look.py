"""How the demo's pages sit on a phone, at a desk and on paper: what is seen first, and what fits.

What counts as readable and as large enough for a thumb is common practice, no source, but for the
sideways scroll at twice the text size: WCAG 2.2, 1.4.4 (from memory).
"""

from __future__ import annotations

import gzip
import io
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from tests.browser.conftest import DESK, PHONE, add_style, open_menu

FAILURE = "block-1/failure-forward.html"
NAMED = "block-1/named-failure-both-generators.html"
PAGES = [
    "index.html",
    "block-1/index.html",
    "block-1/a-to-z.html",
    "block-1/audit.html",
    "block-1/board.html",
    "block-1/bus-forward.html",
    "block-1/buses.html",
    "block-1/conditions.html",
    "block-1/equipment-com-1.html",
    "block-1/failures.html",
    "block-1/function-attitude.html",
    "block-1/functions.html",
    "block-1/loads.html",
    "block-1/note-how-it-works.html",
    "block-1/overview.html",
    "block-1/panels.html",
    "block-1/panel-right-wall.html",
    "block-1/paper.html",
    "block-1/which-failed.html",
    FAILURE,
    NAMED,
]
THUMB = 44
"""Least height of a target, in CSS px; a link within a sentence is excepted."""

READABLE = 11
"""Least height of a device's name in a drawing, in CSS px."""

HEAVIEST = 120_000
"""Bytes of a page with its styles and scripts, as sent; half of it is the same on every page."""
HEAVIEST_BOARD = 127_000
"""The board and the diagnosis have every script of the engine, which the device then keeps."""


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": PHONE["width"], "height": PHONE["height"]})
    yield page
    page.close()


@pytest.fixture
def desk(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    yield page
    page.close()


def top(page: Page, selector: str) -> float:
    return float(page.evaluate(f"document.querySelector('{selector}').getBoundingClientRect().top"))


@pytest.mark.parametrize(
    "path", [FAILURE, NAMED, "block-1/index.html", "block-1/which-failed.html"]
)
def test_every_condition_can_be_chosen_on_a_phone_without_sliding(
    phone: Page, site: Path, path: str
) -> None:
    phone.goto((site / path).as_uri())
    strip = phone.locator(".conditions > summary").bounding_box()
    assert strip
    assert strip["height"] >= THUMB
    open_menu(phone)
    labels = phone.locator(".menu label:visible, .modes label:visible").all()
    boxes = [label.bounding_box() for label in labels]
    assert len(boxes) >= 6
    for box in boxes:
        assert box
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= PHONE["width"]
        assert box["y"] + box["height"] <= PHONE["height"]
        assert box["height"] >= THUMB


@pytest.mark.parametrize("path", [FAILURE, NAMED, "block-1/index.html", "block-1/bus-forward.html"])
def test_at_a_desk_every_condition_is_a_button_in_the_strip(
    desk: Page, site: Path, path: str
) -> None:
    desk.goto((site / path).as_uri())
    strip = desk.locator(".strip").bounding_box()
    labels = [label.bounding_box() for label in desk.locator(".menu label:visible").all()]
    assert strip
    assert len(labels) == 6
    for box in labels:
        assert box
        assert strip["x"] <= box["x"]
        assert box["x"] + box["width"] <= strip["x"] + strip["width"]
        assert strip["y"] - 1 <= box["y"]
        assert box["y"] + box["height"] <= strip["y"] + strip["height"] + 1


def test_the_menu_closes_when_a_condition_is_chosen_or_the_page_is_touched(
    phone: Page, site: Path
) -> None:
    phone.goto((site / FAILURE).as_uri())
    menu = phone.locator(".conditions .menu")
    for leave in (
        lambda: phone.locator(".menu label:visible").nth(2).click(),
        lambda: phone.locator("h1").click(position={"x": 5, "y": 25}, force=True),
        lambda: phone.keyboard.press("Escape"),
    ):
        open_menu(phone)
        assert menu.is_visible()
        leave()
        assert not menu.is_visible()
    assert phone.evaluate("document.activeElement.tagName") == "SUMMARY"


def test_what_is_lost_begins_on_the_first_screen_at_a_desk(desk: Page, site: Path) -> None:
    """Or what the crew does, which may be long, and after which it comes."""
    desk.goto((site / FAILURE).as_uri())
    assert top(desk, "#lost") < DESK["height"]
    desk.goto((site / NAMED).as_uri())
    assert top(desk, "#crew") < DESK["height"] - 100


def test_a_long_list_for_the_crew_does_not_push_what_is_lost_away(phone: Page, site: Path) -> None:
    phone.goto((site / NAMED).as_uri())
    assert phone.locator(".crew .acts li").count() > 6
    assert top(phone, "#lost") < 2 * PHONE["height"]


def test_the_lists_of_a_failure_use_all_of_the_width_at_a_desk(desk: Page, site: Path) -> None:
    desk.goto((site / NAMED).as_uri())
    ends = desk.evaluate(
        "[...document.querySelectorAll('#lost .rows > li')].filter(e => e.checkVisibility())"
        ".map(e => e.getBoundingClientRect().right)"
    )
    assert max(ends) > 0.9 * DESK["width"]


@pytest.fixture(scope="module", params=[*PAGES, "block-3/bus-essential.html"])
def on_phone(request: pytest.FixtureRequest, browser: Browser, site: Path) -> Iterator[Page]:
    """A page that stays open for the checks that follow."""
    page = browser.new_page(viewport={"width": PHONE["width"], "height": PHONE["height"]})
    page.goto((site / request.param).as_uri())
    yield page
    page.close()


def test_a_drawing_on_a_phone_fits_or_says_that_it_goes_on(on_phone: Page) -> None:
    for more, says in on_phone.evaluate(
        """() => [...document.querySelectorAll('.picture')].map(p => {
          const pan = p.querySelector('.pan');
          const hint = getComputedStyle(p, '::before');
          return [pan.scrollWidth > pan.clientWidth, hint.display !== 'none'];
        })"""
    ):
        assert says == more


def test_what_a_thumb_has_to_hit_is_large_enough(on_phone: Page) -> None:
    open_menu(on_phone)
    small = on_phone.evaluate(
        """least => [...document.querySelectorAll(
          '.menu label, .modes label, .of-battery a, .functions li > b a,'
          + ' .states label[for], summary, .jumps a, .tiles a, .page-links a,'
          + ' .rows > li > a.item, .names a, .buses a, .strip a, .cause a, .go a, dt a, button,'
          + ' .picture label, .rows > li > a:first-child, .letters a, .others a')]
        .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < least - .5)
        .map(e => e.textContent.trim())""",
        THUMB,
    )
    assert small == []


def test_text_twice_as_large_does_not_make_the_page_scroll_sideways(on_phone: Page) -> None:
    add_style(on_phone, "html { font-size: 200% !important; }")
    assert on_phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_a_bus_and_its_failure_are_distinguished_by_heading_and_title(
    desk: Page, site: Path
) -> None:
    headings, titles = [], []
    for path in ("block-1/bus-forward.html", FAILURE):
        desk.goto((site / path).as_uri())
        headings.append(" ".join(desk.locator("h1").inner_text().split()))
        titles.append(desk.title())
    assert "DC BUS" in headings[0].upper()
    assert "IF IT FAILS" in headings[1].upper()
    assert len(set(titles)) == 2


def lettering(page: Page) -> list[float]:
    """The sizes at which the names in the drawing are shown."""
    sizes: list[float] = page.evaluate(
        """() => [...document.querySelectorAll('svg.diagram .label')].map(
          t => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a)"""
    )
    return sizes


@pytest.mark.parametrize("path", ["block-1/index.html", FAILURE, NAMED])
def test_names_in_the_whole_drawing_can_be_read_at_a_desk(
    desk: Page, site: Path, path: str
) -> None:
    desk.goto((site / path).as_uri())
    sizes = lettering(desk)
    assert len(sizes) > 30
    assert min(sizes) >= READABLE


def test_the_legend_leaves_the_drawing_as_it_was(desk: Page, site: Path) -> None:
    desk.goto((site / FAILURE).as_uri())
    before = desk.locator(".pan").bounding_box()
    desk.locator(".picture summary").first.click()
    after, legend = (
        desk.locator(".pan").bounding_box(),
        desk.locator(".diagram-legend").bounding_box(),
    )
    assert before
    assert after
    assert legend
    assert after["height"] >= before["height"] - 24
    assert legend["y"] >= after["y"] + after["height"]
    assert top(desk, "#lost") >= legend["y"] + legend["height"]


def test_a_closed_contact_bridges_its_terminals_and_an_open_one_does_not(
    phone: Page, site: Path
) -> None:
    """Along the axis of the symbol, at a phone's size: ink all the way, or a gap."""
    phone.goto((site / FAILURE).as_uri())
    phone.evaluate(
        "document.querySelectorAll('.pan').forEach(p => {"
        " p.style.overflow = 'visible'; p.style.height = 'auto' });"
        "document.querySelectorAll('.columns > :not(.drawing)').forEach(e => e.remove())"
    )
    looked_at = set()
    for state in ("live", "dead", "battery", "open"):
        places = phone.evaluate(
            """state => [...document.querySelectorAll('a.contactor, a.relay, a.switch')].map(a => {
              const kind = a.getAttribute('class').split(' ')[2];
              a.setAttribute('class', `part device ${kind} state-${state}`);
              const at = a.querySelector('g').getCTM(), svg = a.ownerSVGElement;
              const box = svg.getBoundingClientRect();
              const x = box.left + scrollX + at.e, y = box.top + scrollY + at.f;
              return [kind, Math.abs(at.b) < .1, x, y];
            })""",
            state,
        )
        picture = Image.open(io.BytesIO(phone.screenshot(full_page=True))).convert("L")
        for kind, upright, x, y in places:
            if not upright:
                continue
            axis = picture.crop((round(x) - 2, round(y) - 9, round(x) + 3, round(y) + 9))
            rows = [
                min(axis.getpixel((column, row)) for column in range(5)) < 160
                for row in range(axis.height)
            ]
            assert all(rows) == (state != "open"), (kind, state)
            looked_at.add(kind)
    assert looked_at == {"contactor", "relay"}


def test_which_one_failed_shows_one_condition_and_folds_its_rows(phone: Page, site: Path) -> None:
    phone.goto((site / "block-1/which-failed.html").as_uri())
    shown = phone.locator(".signatures").evaluate_all(
        "all => all.filter(e => e.checkVisibility()).length"
    )
    assert shown == 1
    assert phone.evaluate("document.documentElement.scrollHeight") < 3 * PHONE["height"]
    # Its lines begin below each other, right of the mark, and no rule runs down beside it.
    starts = phone.locator(".branch > summary:visible").evaluate_all(
        """all => all.map(summary => {
          const range = document.createRange();
          range.selectNodeContents(summary);
          const rects = [...range.getClientRects()].filter(r => r.width);
          const top = Math.min(...rects.map(r => r.top));
          const left = some => Math.min(...some.map(r => r.left))
            - summary.parentNode.getBoundingClientRect().left;
          return [left(rects.filter(r => r.top < top + 10)), left(rects)];
        })"""
    )
    assert all(first == pytest.approx(leftmost, abs=1) for first, leftmost in starts)
    assert min(first for first, _ in starts) >= 18
    assert (
        phone.evaluate(
            "getComputedStyle(document.querySelector('.signatures').parentNode).borderLeftWidth"
        )
        == "0px"
    )


def test_a_to_z_is_folded_by_letter_and_opens_at_what_was_asked_for(
    phone: Page, site: Path
) -> None:
    path = site / "block-1/a-to-z.html"
    phone.goto(path.as_uri())
    assert phone.evaluate("document.documentElement.scrollHeight") < 3 * PHONE["height"]
    phone.goto(path.as_uri() + "#at-battery-master")
    row = phone.locator("#at-battery-master")
    assert row.is_visible()
    box = row.bounding_box()
    assert box
    assert 0 < box["y"] < PHONE["height"]


@pytest.mark.parametrize("path", [NAMED, "block-1/a-to-z.html", "block-1/which-failed.html"])
def test_nothing_stays_folded_on_paper_even_without_a_script(
    browser: Browser, site: Path, path: str
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((site / path).as_uri())
    page.emulate_media(media="print")
    folded = page.evaluate(
        """() => [...document.querySelectorAll('details:not(.conditions)')]
        .filter(d => d.checkVisibility())
        .filter(d => [...d.children].slice(1).some(
          e => !e.matches('.v, details') && !e.checkVisibility({contentVisibilityAuto: true})))
        .map(d => d.textContent.trim().slice(0, 40))"""
    )
    # Left out, not folded: the menu of conditions, and lists that are for the screen only.
    assert folded == []
    assert page.locator("details").count() > 2
    context.close()


def test_no_page_weighs_too_much_for_a_hangar_s_network(site: Path) -> None:
    """All of a page: its text, the styles and scripts that it names, and what these read later."""

    @cache
    def sent(path: Path) -> int:
        return len(gzip.compress(path.read_bytes(), 9))

    read_by_others = {"find.js", "offline.js", "sw.js", "search.js"}
    heaviest = 0
    for path in site.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        folders = {site, path.parent}
        files = [f for folder in folders for f in (*folder.glob("*.js"), *folder.glob("*.css"))]
        with_page = [f for f in files if f.name in read_by_others or f"{f.name}" in text]
        weight = sent(path) + sum(map(sent, with_page))
        heaviest = max(heaviest, weight)
        limit = HEAVIEST_BOARD if path.name in ("board.html", "diagnose.html") else HEAVIEST
        assert weight < limit, path.name
    # Something is counted: the style sheet alone has more than this.
    assert heaviest > 20_000


LINES = """all => all.map(one => {
  const range = document.createRange();
  range.selectNodeContents(one);
  return new Set([...range.getClientRects()].map(rect => Math.round(rect.top))).size;
})"""


def test_the_name_of_the_aircraft_is_one_line_in_every_condition(phone: Page, site: Path) -> None:
    lines = []
    for view in range(6):
        phone.goto("about:blank")
        phone.goto((site / "block-1/failure-gen-1.html").as_uri() + f"#view-{view}")
        lines += phone.locator(".whose a:first-child").evaluate_all(LINES)
    assert lines == [1] * 6


def test_below_a_failure_s_drawing_nothing_is_alone_in_a_row(phone: Page, site: Path) -> None:
    phone.goto((site / "block-1/failure-gen-1.html").as_uri())
    rows = phone.locator(".picture figcaption > *").evaluate_all(
        "all => all.map(one => [one.getBoundingClientRect().top, one.textContent])"
    )
    assert len(rows) == 4
    assert len({round(top) for top, _ in rows}) == 2
    together = [text for top, text in rows if round(top) == round(rows[0][0])]
    assert together == ["And also \u2026", "\u2212+Fit"]


def test_a_hazard_s_sign_is_beside_the_name_and_explained(phone: Page, site: Path) -> None:
    phone.goto((site / "block-1/bus-aft.html").as_uri())
    beside = phone.locator(".rows li:has(> a:first-child + .hazard-sign)").evaluate_all(
        """all => all.map(row => {
          const [name, sign] = [...row.children].map(one => one.getBoundingClientRect());
          return sign.left > name.right && sign.top > name.top && sign.bottom < name.bottom;
        })"""
    )
    assert beside
    assert all(beside)
    phone.goto((site / "block-1/failures.html").as_uri())
    assert phone.inner_text("#answer > .also") == "! Can hurt somebody: its page says how."


def test_of_long_lists_of_differences_the_first_are_shown(phone: Page, site: Path) -> None:
    phone.goto((site / "block-1/differences-block-2.html").as_uri())
    row = phone.locator(".effects > li", has_text="Essential bus dead").locator(".only-here")
    assert len(row.locator("a:visible").all()) == 4
    row.locator("summary").click()
    assert len(row.locator("a:visible").all()) > 4


def test_all_differences_are_within_six_screens_of_a_phone(phone: Page, site: Path) -> None:
    for path in sorted(site.glob("*/differences-*.html")):
        phone.goto(path.as_uri())
        height = phone.evaluate("document.documentElement.scrollHeight")
        assert height < 6 * PHONE["height"], path.parent.name
        assert not phone.locator("#readings li").first.is_visible()


LONG_LIST = "block-1/named-failure-all-but-batteries.html"


def test_a_list_of_dozens_is_folded_by_chapter_at_a_desk_too(desk: Page, site: Path) -> None:
    desk.goto((site / LONG_LIST).as_uri())
    assert desk.evaluate("document.documentElement.scrollHeight") < 7 * DESK["height"]
    chapter = desk.locator("#lost > .chapter").first
    assert not chapter.locator(".rows > li").first.is_visible()
    assert chapter.locator(".named:visible").count() == 1
    assert desk.locator("#lost > summary small").is_visible()
    chapter.locator("summary").click()
    assert chapter.locator(".rows > li").first.is_visible()
    # Where all is open nothing says how to open it.
    desk.goto((site / NAMED).as_uri())
    assert desk.locator("#lost .rows > li").first.is_visible()
    assert not desk.locator("#lost > summary small").is_visible()


@pytest.mark.parametrize("path", ["block-1/equipment-com-2.html", FAILURE, NAMED])
def test_neither_a_placard_with_its_amps_nor_a_place_is_broken(
    phone: Page, site: Path, path: str
) -> None:
    phone.goto((site / path).as_uri())
    phone.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    broken = phone.evaluate(
        """() => [...document.querySelectorAll('.place')].filter(p => {
          if (!p.checkVisibility()) return false;
          const placard = p.querySelector('.placard'), amps = p.querySelector('.amps');
          const where = p.querySelector('.where');
          const bottom = e => e.getBoundingClientRect().bottom;
          return amps && Math.abs(bottom(placard) - bottom(amps)) > 6
            || where && where.getBoundingClientRect().height > 30;
        }).map(p => p.textContent)"""
    )
    assert broken == []
    assert phone.locator(".place .where:visible").count() > 0


@pytest.mark.parametrize(
    "path", ["equipment-com-2.html", "failure-gen-1.html", "bus-forward.html", "loads.html"]
)
def test_how_much_is_not_checked_is_beside_the_kind_of_page(
    phone: Page, site: Path, path: str
) -> None:
    phone.goto((site / "block-1" / path).as_uri())
    link, kind, name = (
        phone.locator(f".head {part}").bounding_box() or {}
        for part in (".unchecked", ".kind", ".name")
    )
    assert link["y"] < kind["y"] + kind["height"]
    assert kind["x"] + kind["width"] <= link["x"]
    assert kind["y"] < link["y"] + link["height"] / 2
    assert name["y"] >= kind["y"] + kind["height"]


SENTENCE_LINKS = """() => [...document.querySelectorAll('main :is(p, dd) a, main .also a')]
  .filter(a => a.checkVisibility())
  .map(a => [Math.min(...[...a.getClientRects()].map(r => r.height)), a.textContent])"""


@pytest.mark.parametrize("path", [FAILURE, NAMED, "block-1/bus-forward.html", PAGES[3]])
def test_a_link_in_a_sentence_is_24_px_high(phone: Page, site: Path, path: str) -> None:
    """WCAG 2.2, 2.5.8 (from memory): 24 CSS px, from which links in sentences are excepted."""
    phone.goto((site / path).as_uri())
    phone.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    links = phone.evaluate(SENTENCE_LINKS)
    assert links
    assert [text for height, text in links if height < 24] == []


# For each line of each link: what a finger leads to at 22 px above its middle to 22 px below.
LED_TO = """() => {
  let led = null;
  const note = event => {
    const link = event.target.closest('a[href]');
    if (link) { led = link; event.preventDefault(); }
  };
  document.addEventListener('click', note, true);
  const at = (x, y) => {
    const on = document.elementFromPoint(x, y);
    if (!on) return null;
    const other = on.closest('a[href], button, summary, label, input, select, svg, .strip, .jumps');
    if (other) return other;
    led = null;
    on.dispatchEvent(new PointerEvent('click', {
      bubbles: true, cancelable: true, pointerType: 'touch', clientX: x, clientY: y }));
    return led;
  };
  const found = [];
  for (const link of document.querySelectorAll('main :is(p, dd) a[href], main .also a[href]')) {
    if (!link.checkVisibility() || getComputedStyle(link).display !== 'inline') continue;
    link.scrollIntoView({ block: 'center', behavior: 'instant' });
    for (let k = 0; k < link.getClientRects().length; k++) {
      const box = link.getClientRects()[k];
      const x = box.left + box.width / 2, y = box.top + box.height / 2;
      let own = 0, nothing = 0;
      for (let by = -21; by <= 21; by++) {
        const to = at(x, y + by);
        own += to === link;
        nothing += !to;
      }
      found.push([link.textContent, own, nothing]);
    }
  }
  document.removeEventListener('click', note, true);
  return found;
}"""


@pytest.mark.parametrize(
    "path", [FAILURE, NAMED, "block-1/bus-forward.html", PAGES[3], "block-1/loads.html"]
)
def test_a_finger_has_44_px_for_a_link_in_a_sentence_or_meets_the_next_link(
    phone: Page, site: Path, path: str
) -> None:
    phone.goto((site / path).as_uri())
    phone.evaluate("document.querySelectorAll('main details').forEach(d => d.open = true)")
    lines = phone.evaluate(LED_TO)
    assert lines
    assert [line for line in lines if line[2]] == []
    assert any(own == 43 for _, own, _ in lines)
    # Between links on neighbouring lines each has its half.
    assert min(own for _, own, _ in lines) >= 20


BESIDE = """by => {
  const links = [...document.querySelectorAll('.dead-buses a')];
  const link = links.filter(e => e.checkVisibility()).pop();
  link.scrollIntoView({ block: 'center' });
  const box = link.getBoundingClientRect(), x = box.left + 20, y = box.bottom + 6;
  document.elementFromPoint(x, y).dispatchEvent(new PointerEvent('click', {
    bubbles: true, cancelable: true, pointerType: by, clientX: x, clientY: y }));
}"""


def test_a_tap_beside_a_link_follows_it_but_a_click_or_one_that_closes_the_menu_does_not(
    phone: Page, site: Path
) -> None:
    """Chrome moves a real tap to a link that is near by itself: here it is told apart from that."""
    phone.goto((site / NAMED).as_uri())
    phone.evaluate(BESIDE, "mouse")
    open_menu(phone)
    phone.evaluate(BESIDE, "touch")
    assert not phone.locator(".conditions[open]").count()
    phone.wait_for_timeout(100)
    assert phone.url.partition("#")[0] == (site / NAMED).as_uri()
    phone.evaluate(BESIDE, "touch")
    phone.wait_for_url("**/bus-survey.html*")


def test_the_failures_of_a_set_are_one_sentence(phone: Page, site: Path) -> None:
    phone.goto((site / "block-1" / "function-attitude.html").as_uri())
    phone.evaluate("document.querySelectorAll('main details').forEach(d => d.open = true)")
    looks = phone.locator(".sets .rows > li > a").evaluate_all(
        """all => all.filter(e => e.checkVisibility()).map(e => {
          const style = getComputedStyle(e);
          return `${style.display} ${style.fontWeight}`;
        })"""
    )
    assert len(looks) > 20
    assert set(looks) == {"inline 400"}


def test_the_mark_of_an_essential_function_is_below_its_name(phone: Page, site: Path) -> None:
    phone.goto((site / "block-1" / "failure-essential.html").as_uri())
    tiles = phone.evaluate(
        """() => [...document.querySelectorAll('.functions li')].filter(li => li.checkVisibility())
        .map(li => {
          const range = document.createRange();
          range.selectNodeContents(li.querySelector('b a').firstChild);
          const [tile, name] = [li, range].map(e => e.getBoundingClientRect());
          const mark = li.querySelector('.tag');
          return [name.left - tile.left, tile.right - name.right,
            mark ? mark.getBoundingClientRect().top - name.bottom : 0];
        })"""
    )
    assert len(tiles) > 8
    assert {round(left) for left, _, _ in tiles} == {14}
    assert all(right >= 8 for _, right, _ in tiles)
    assert all(below >= 0 for _, _, below in tiles)
    assert any(below > 0 for _, _, below in tiles)


@pytest.mark.parametrize("percent", [100, 200])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_no_name_of_a_function_is_broken_within_a_word(
    browser: Browser, site: Path, size: dict[str, int], percent: int
) -> None:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.goto((site / "block-1" / "failure-mid.html").as_uri())
    page.evaluate("percent => document.documentElement.style.fontSize = percent + '%'", percent)
    names = page.evaluate(
        """() => [...document.querySelectorAll('.functions li > b a')]
        .filter(e => e.checkVisibility())
        .map(e => { const now = e.offsetHeight; e.style.overflowWrap = 'normal';
          const broken = e.scrollWidth > e.clientWidth + 1 || e.offsetHeight !== now;
          return [e.textContent, broken]; })"""
    )
    page.close()
    assert "VHF communication" in dict(names)
    assert [name for name, broken in names if broken] == []


def test_the_kind_of_a_page_is_not_broken_within_a_word_with_large_text(
    phone: Page, site: Path
) -> None:
    """'Communications' of a radio's page is the longest word there."""
    phone.goto((site / "block-1" / "equipment-com-1.html").as_uri())
    add_style(phone, "html { font-size: 200% !important; }")
    heights = phone.evaluate(
        """() => { const e = document.querySelector('.kind'), now = e.offsetHeight;
          e.style.overflowWrap = 'normal';
          return [now, e.offsetHeight, e.scrollWidth - e.clientWidth]; }"""
    )
    assert heights[0] == heights[1]
    assert heights[2] <= 0


@pytest.mark.parametrize("page", ["indication-gen-2-off", "failure-forward", "loads"])
def test_a_link_with_a_condition_leads_to_a_page_on_which_nothing_is_marked_as_focused(
    phone: Page, site: Path, page: str
) -> None:
    """The address names a button, which would have the focus that nobody has given it."""
    phone.goto((site / "block-1" / f"{page}.html").as_uri() + "#view-1")
    assert phone.locator("#view-1").is_checked()
    assert phone.evaluate("document.activeElement === document.body")


def test_a_changed_field_has_a_line_with_two_wide_values_at_a_desk(desk: Page, site: Path) -> None:
    desk.goto((site / "block-1" / "differences-block-2.html").as_uri())
    fields = desk.evaluate(
        """() => [...document.querySelectorAll('#wiring .here-there')].map(field =>
        [...field.querySelectorAll(':scope > *')].map(e => e.getBoundingClientRect().toJSON()))"""
    )
    assert fields
    for label, here, there in fields:
        assert abs(label["y"] - here["y"]) < 12
        assert here["y"] == there["y"]
        assert min(here["width"], there["width"]) > 300
    # No title of a chapter is broken within a word.
    broken = desk.evaluate(
        """() => [...document.querySelectorAll('.lists .chapter h3')]
        .filter(e => e.checkVisibility())
        .filter(e => { const now = e.offsetHeight; e.style.overflowWrap = 'normal';
          return e.scrollWidth > e.clientWidth + 1 || e.offsetHeight !== now; })
        .map(e => e.textContent)"""
    )
    assert broken == []


def test_where_nothing_is_lost_the_answer_has_the_rest_below_it_at_a_desk(
    desk: Page, site: Path
) -> None:
    desk.goto((site / "block-1" / "failure-cb-ess-forward.html").as_uri())
    desk.wait_for_selector(".picture.live")
    words, rest, drawing = (
        desk.locator(part).bounding_box() or {} for part in (".words", ".rest", ".picture")
    )
    assert rest["y"] < words["y"] + words["height"] + 120
    assert rest["x"] + rest["width"] < drawing["x"]
    assert drawing["y"] + drawing["height"] <= DESK["height"]


def test_open_is_as_high_as_its_field_in_the_settings(desk: Page, site: Path) -> None:
    desk.goto((site / "block-1" / "index.html").as_uri())
    desk.locator("a.set").click()
    field, button = (
        desk.locator(f".my-serial {e}").bounding_box() or {} for e in ("input", "button")
    )
    assert (field["y"], field["height"]) == (button["y"], button["height"])


def test_the_bar_of_a_failure_does_not_begin_with_a_line(desk: Page, site: Path) -> None:
    """In cruise external power is not on line: what the bar begins with elsewhere is left out."""
    desk.goto((site / "block-1" / "failure-external-power.html").as_uri())
    lines = desk.locator(".jumps a:visible").evaluate_all(
        "all => all.map(e => getComputedStyle(e).borderLeftWidth)"
    )
    assert set(lines) == {"0px"}


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_with_larger_text_the_sign_of_a_fold_is_beside_its_title(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.goto((site / "block-1" / "board.html").as_uri())
    page.wait_for_selector("#board-find")
    page.evaluate("() => { document.documentElement.style.fontSize = '200%'; }")
    middle, sign, text, edge = page.locator("#board-find > summary").evaluate(
        """e => { const after = getComputedStyle(e, '::after'), title = e.firstElementChild;
        const range = document.createRange(); range.selectNodeContents(title);
        return [e.clientHeight / 2, parseFloat(after.top) + parseFloat(after.height) / 2,
          range.getBoundingClientRect().right - e.getBoundingClientRect().left,
          e.clientWidth - parseFloat(after.right) - parseFloat(after.width)]; }"""
    )
    page.close()
    assert abs(middle - sign) < 4
    assert text <= edge


def test_no_word_of_the_title_box_is_broken_with_twice_the_text(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport=PHONE)
    page.goto((site / "block-1" / "failure-cb-avionics-2.html").as_uri())
    add_style(page, "html { font-size: 200% !important; }")
    lines: dict[str, int] = page.locator(".title-block dt").evaluate_all(
        """all => Object.fromEntries(all.map(term => {
          const range = document.createRange();
          range.selectNodeContents(term);
          return [term.textContent, range.getClientRects().length];
        }))"""
    )
    page.close()
    assert {lines[term] for term in ("Aircraft", "Airframe", "Revision", "Date")} == {1}
