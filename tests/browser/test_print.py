"""Every kind of page on paper: nothing cut or over anything, whatever was done on the screen."""

from __future__ import annotations

import io
import re
from pathlib import Path
from unicodedata import normalize

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PageObject, PdfReader

from tests.browser.conftest import DESK, PHONE
from tests.browser.test_access import one_of_each_kind
from tests.browser.test_published_site import a_few_of_each_kind

PAPER = {"width": 703, "height": 1032}
"""An A4 page within margins of 12 mm, at 96 pixels an inch."""

OVER_EDGES = """() => {
  const found = [];
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wide > 1) found.push('the page is ' + wide + ' px too wide');
  for (const picture of document.querySelectorAll('.picture')) {
    const box = picture.getBoundingClientRect();
    if (!box.height) continue;
    const drawn = picture.querySelector('svg.diagram').getBoundingClientRect();
    const below = picture.querySelector('.pan ~ figcaption')?.getBoundingClientRect();
    if (drawn.right > box.right + 1 || drawn.left < box.left - 1) found.push('a drawing is cut');
    if (below && below.height && drawn.bottom > below.top + 1) found.push('the legend is over it');
    if (drawn.height > innerHeight) found.push('a drawing is higher than the paper');
  }
  return found;
}"""


def zoomed(page: Page) -> None:
    """As somebody leaves a page who has looked closely at its drawing."""
    page.evaluate(
        """() => [...document.querySelectorAll('.tools button:nth-child(2)')]
        .filter(e => e.checkVisibility())
        .forEach(e => { for (let k = 0; k < 4; k++) e.click(); })"""
    )


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_is_cut_or_over_anything_on_paper(
    browser: Browser, site: Path, size: dict[str, int]
) -> None:
    page = browser.new_page()
    for path in a_few_of_each_kind(site) if size == PHONE else one_of_each_kind(site):
        if path.name.startswith("handout"):
            continue  # pages of its own size: test_handout_pdf
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": size["width"], "height": size["height"]})
        page.goto(path.as_uri())
        zoomed(page)
        page.emulate_media(media="print")
        page.set_viewport_size({"width": PAPER["width"], "height": PAPER["height"]})
        assert page.evaluate(OVER_EDGES) == [], path.name
    page.close()


NO_CONDITION = ("differences-block-2", "differences-block-3", "panel-right-wall")
"""Pages that are the same in every condition."""


@pytest.mark.parametrize(
    ("name", "most"),
    [
        ("failure-forward", 2),
        ("named-failure-forward-short", 2),
        ("failure-aft", 2),
        ("named-failure-both-generators", 2),
        ("named-failure-aft-short", 2),
        ("named-failure-essential-short", 3),
        ("named-failure-all-but-batteries", 3),
        ("overview", 1),
        ("which-failed", 2),
        ("bus-aft", 2),
        ("bus-essential", 2),
        ("equipment-com-2", 2),
        ("equipment-survey-computer", 2),
        ("function-attitude", 2),
        ("function-survey-run", 2),
        ("loads", 2),
        ("differences-block-2", 3),
        ("differences-block-3", 4),
        ("panel-right-wall", 2),
    ],
)
def test_a_page_on_paper_is_a_sheet_or_two_to_pin_up(
    browser: Browser, site: Path, name: str, most: int
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1" / f"{name}.html").as_uri())
    is_drawn = name not in ("which-failed", "loads", *NO_CONDITION)
    if is_drawn:
        zoomed(page)
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    page.close()
    # Letters that are joined in print are letters.
    texts = [normalize("NFKC", " ".join(sheet.extract_text().split())) for sheet in sheets]
    assert all(texts)
    assert len(sheets) <= most
    # What a sheet on a wall must say of what it holds for, before all else.
    # Headings of folds are painted before the rest of such a page.
    head = texts[0] if name.startswith("differences") else texts[0][:80]
    assert "Tarn 19 · Serials 1 to 24 · Revision 8" in head
    assert "Condition: Cruise" in texts[0] or name in NO_CONDITION
    whole = " ".join(texts)
    assert "Study aid only" in texts[0]
    assert "approved manuals and local rules come first" in whole
    if name == "overview":
        # All of the drawing is on one sheet: a bus at the top and one at the bottom.
        assert "Generator 1" in whole
        assert "26 V AC bus" in whole
    elif is_drawn:
        assert "all of it is on the overview" in whole
    if "failure" in name and name != "which-failed":
        assert "What is left" in whole
        assert re.search(r"\d+ of \d+ items still work", whole)
        assert "; Left fire bottle" in whole


@pytest.mark.parametrize(
    "name", ["failure-aft", "equipment-com-2", "named-failure-ring-link-open", "bus-avionics-2"]
)
def test_no_name_is_cut_at_the_edge_of_a_printed_part_of_the_drawing(
    browser: Browser, site: Path, name: str
) -> None:
    page = browser.new_page(viewport=PAPER)
    page.goto((site / "block-1" / f"{name}.html").as_uri())
    page.wait_for_selector(".picture.live svg.diagram")
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    shown, cut = page.evaluate(
        """() => {
          const pan = document.querySelector('.pan').getBoundingClientRect();
          const meets = (b) => b.right > pan.left && b.left < pan.right && b.bottom > pan.top
            && b.top < pan.bottom;
          const texts = [...document.querySelectorAll('.pan text')]
            .filter((e) => getComputedStyle(e).visibility === 'visible')
            .map((e) => [e.textContent, e.getBoundingClientRect()]).filter(([, b]) => meets(b));
          return [texts.length, texts.filter(([, b]) => b.left < pan.left - 1
            || b.right > pan.right + 1 || b.top < pan.top - 1 || b.bottom > pan.bottom + 1)
            .map(([text]) => text)];
        }"""
    )
    assert shown > 10
    assert cut == []
    # After printing nothing is moved.
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator(".bus [transform]").count() == 0
    page.close()


def pieces_on(sheet: PageObject) -> list[tuple[str, float]]:
    """Each piece of text on a sheet, with its size in points."""
    pieces: list[tuple[str, float]] = []

    def note(text: str, cm: list[float], tm: list[float], font: object, size: float) -> None:
        if text.strip():
            pieces.append((normalize("NFKC", text.strip()), size * abs(cm[0] * tm[0])))

    sheet.extract_text(visitor_text=note)
    return pieces


def sizes_on(sheet: PageObject) -> dict[str, float]:
    """The same by text; of several like it, of the last."""
    return dict(pieces_on(sheet))


@pytest.mark.parametrize(
    "name",
    [
        "block-1/named-failure-both-generators",
        "block-1/named-failure-all-but-batteries",
        "block-1/named-failure-essential-short",
        "block-3/named-failure-standby-diode",
        "block-3/bus-essential",
    ],
)
def test_nothing_on_a_sheet_is_so_wide_that_the_printer_makes_all_of_it_smaller(
    browser: Browser, site: Path, name: str
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / f"{name}.html").as_uri())
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    page.close()
    # 10 px in the style sheet
    line = "Study aid only. The approved manuals come first."
    assert sizes_on(sheets[0])[line] == pytest.approx(7.5, abs=0.1)


def test_the_names_in_the_drawing_on_its_own_sheet_can_be_read(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1" / "overview.html").as_uri())
    [sheet] = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    page.close()
    assert sheet.mediabox.height > sheet.mediabox.width
    assert sizes_on(sheet)["Forward bus"] > 5


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("block-1/failure-aft", ["Aft bus", "Mid-aft", "Battery relay"]),
        ("block-1/named-failure-both-generators", ["Generator 1", "Generator 2", "line contactor"]),
        ("block-1/named-failure-aft-short", ["Aft bus", "Mid-aft", "Inverter 2"]),
        ("block-3/named-failure-standby-diode", ["Generator 1", "Generator 2"]),
        ("block-1/bus-essential", ["Essential bus", "ESS AFT", "INV 1"]),
        ("block-3/bus-ac-26", ["26 V AC bus", "XFMR 26V"]),
        ("block-1/equipment-com-2", ["Avionics bus 2", "Avionics relay"]),
        ("block-1/function-attitude", ["115 V AC bus", "Right wall bus"]),
    ],
)
def test_the_names_round_what_a_page_is_about_can_be_read_on_its_sheet(
    browser: Browser, site: Path, name: str, parts: list[str]
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / f"{name}.html").as_uri())
    zoomed(page)
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    page.close()
    assert len(sheets) <= (3 if name.startswith("block-3/named") else 2)
    pieces = [piece for sheet in sheets for piece in pieces_on(sheet)]
    # A state of a part is the smallest: 10.5 units of the drawing.
    assert min(size for _, size in pieces) > 5.95
    # Names have 12: no other text has this size.
    names = [text for text, size in pieces if 6.8 < size < 6.9]
    for part in parts:
        assert any(part in text for text in names), part


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize(
    "name",
    ["failure-aft", "named-failure-both-generators", "named-failure-all-but-batteries", "bus-aft"],
)
def test_the_part_of_the_drawing_on_paper_is_over_nothing(
    browser: Browser, site: Path, name: str, size: dict[str, int]
) -> None:
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    page.goto((site / "block-1" / f"{name}.html").as_uri())
    page.wait_for_selector(".picture.live svg.diagram")
    page.evaluate("() => dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")
    page.set_viewport_size(PAPER)
    drawing, words, lists = (
        page.locator(f".{n}").bounding_box() for n in ("framed", "words", "lists")
    )
    page.close()
    assert drawing is not None
    assert words is not None
    assert lists is not None
    assert drawing["height"] > 400
    assert drawing["x"] >= words["x"] + words["width"]
    assert drawing["x"] + drawing["width"] <= PAPER["width"] + 1
    assert drawing["y"] + drawing["height"] <= lists["y"] + 1


def test_each_sheet_to_sign_says_once_whose_lines_are_on_it(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1" / "unchecked.html").as_uri())
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    page.close()
    texts = [" ".join(sheet.extract_text().split()) for sheet in sheets]
    whose = "Tarn 19, Serials 1 to 24, revision"
    assert [text.count(whose) for text in texts] == [1] * len(texts)
    for part in ("Sources", "Items, bus by bus", "Named failures"):
        assert any(part in text for text in texts)
    assert len(sheets) <= 3


def test_what_is_lost_is_on_paper_with_its_breakers_and_what_to_do(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport={"width": PHONE["width"], "height": PHONE["height"]})
    page.goto((site / "block-1" / "failure-aft.html").as_uri())
    lost = page.locator("#lost .item").evaluate_all(
        "all => all.filter(e => !e.closest('.v') || e.closest('.v').matches('.v0'))"
        ".map(e => e.textContent)"
    )
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4"))).pages
    text = normalize("NFKC", " ".join(" ".join(s.extract_text() for s in sheets).split()))
    page.close()
    assert len(lost) == 30
    assert all(name in text for name in lost)
    assert "FLAPS" in text
    assert "Flaps stay where they are" in text


@pytest.mark.parametrize(
    ("name", "mode", "is_on_paper"),
    [
        ("failure-mid", "Shorted", True),
        ("failure-mid", "Dead", False),
        ("named-failure-aft-short", "At once", True),
    ],
)
def test_how_a_short_comes_about_is_on_paper(
    browser: Browser, site: Path, name: str, mode: str, is_on_paper: bool
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1" / f"{name}.html").as_uri())
    page.get_by_role("radio", name=f"{mode}, Cruise").evaluate("e => e.click()")
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    text = normalize("NFKC", " ".join(" ".join(s.extract_text() for s in sheets).split()))
    page.close()
    # With the list of the answer that fits, and what the other answer is.
    assert len(sheets) <= 2
    assert ("How it comes about" in text) == is_on_paper
    # Each step of it says what opens or closes.
    assert "What opens or closes" not in text
    assert ("blown because of" in text) == is_on_paper


def test_where_a_breaker_is_and_what_a_sign_of_hazard_means_are_on_paper(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto((site / "block-1" / "failure-cb-inverter-1.html").as_uri())
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    text = normalize("NFKC", " ".join(" ".join(s.extract_text() for s in sheets).split()))
    page.close()
    assert len(sheets) <= 2
    assert "20 A, Pedestal panel A10, Essential bus to Inverter 1" in text
    assert "115 V AC, live in flight and on the ground (115 V AC bus)" in text


def test_a_diagram_to_fill_in_has_its_heading_above_it(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport=PAPER)
    page.goto((site / "block-1" / "blank.html").as_uri())
    page.emulate_media(media="print")
    heading = page.get_by_text("To fill in; the key is on the next sheet").bounding_box()
    drawing = page.locator(".blank svg.diagram").bounding_box()
    page.close()
    assert heading is not None
    assert drawing is not None
    assert heading["y"] + heading["height"] <= drawing["y"] + 1


def test_how_much_drops_with_a_bus_is_on_paper(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport=PAPER)
    page.goto((site / "block-1" / "bus-essential.html").as_uri())
    page.emulate_media(media="print")
    assert "VHF communication" in page.locator(".is-lost").inner_text()
    assert page.locator(".how-many:visible a").inner_text() == "50 items lost"
    page.close()


def test_the_drawing_of_a_failure_has_more_than_half_of_the_width_of_the_sheet(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport=PAPER)
    page.goto((site / "block-1" / "named-failure-both-generators.html").as_uri())
    page.wait_for_selector(".picture.live svg.diagram")
    page.emulate_media(media="print")
    box = page.locator(".picture svg.diagram").bounding_box()
    assert box is not None
    assert box["width"] > 0.5 * PAPER["width"]
    # Of the site's head the airframe and the condition are left, each whole.
    head = page.locator(".strip").inner_text().split()
    assert "".join(head) == "Tarn19Serials1to24ConditionCruise"
    cut = page.evaluate(
        """() => [...document.querySelectorAll('.strip *')].filter(e => e.checkVisibility())
        .filter(e => e.clientWidth && e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)"""
    )
    assert cut == []
    page.close()


@pytest.mark.parametrize(
    ("page_and_state", "answer"),
    [
        ("board.html#c=cruise&f=aft:shorted", ".besides"),
        ("diagnose.html#c=cruise&o=gen-1-off%3Alit,gen-2-off%3Alit", ".causes li"),
    ],
)
def test_the_board_and_the_diagnosis_print_on_two_sheets_with_lit_lamps_as_on_the_screen(
    browser: Browser, site: Path, page_and_state: str, answer: str
) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    page.goto(f"{(site / 'block-1').as_uri()}/{page_and_state}")
    page.wait_for_selector(answer)
    page.wait_for_selector(".lamp-lit")
    sheets = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages
    assert len(sheets) <= 2
    page.emulate_media(media="print")
    # Without it a browser that prints no backgrounds makes the white letters of a lit lamp grey.
    adjust = page.locator(".lamp-lit").first.evaluate("e => getComputedStyle(e).printColorAdjust")
    assert adjust == "exact"
    page.close()
