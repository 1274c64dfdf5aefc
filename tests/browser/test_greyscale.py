"""Without colour: every state of a part is shown by its line, its mark and a word.

The demo's pages are looked at through Chromium's own greyscale filter, by day and by night, on a
phone and at a desk. Photographs are reduced to two tones, what contrasts with the ground and what
does not, so that no shade of grey can distinguish two states. Contrast is measured on the greys of
the filter. WCAG 2.2 (from memory): colour is never the only means (1.4.1), text contrasts
with its ground by 4.5 to 1 (1.4.3), lines that mean something by 3 to 1 (1.4.11).
"""

from __future__ import annotations

import io
import itertools
import json
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from PIL import Image, ImageChops
from playwright.sync_api import Browser, FloatRect, Page

from sitegen.diagram.parts import STATE_NAMES, STATE_WORDS, STATES
from tests.browser.conftest import DESK, PHONE, add_style

TEXT, LINE = 4.5, 3.0
"""The least contrast of WCAG 2.2, 1.4.3 and 1.4.11."""

APART = 0.1
"""The share of the ink of two photographs that must differ; common practice, no source."""

SMALL = {"device fuse": 0.03}
"""The gap in a fuse that is pulled is small; its word is beside it."""

THICKER = 1.3
"""How many times as wide a line must be to be another line; common practice, no source."""

WIRES = ("live", "battery", "dead")
"""A wire neither fails nor opens; what is in it does."""

FAILURE, VIEW = "block-1/failure-aft.html", 2
"""The aft bus dead on generator 1 alone: something is live, on battery, dead, open and failed."""

LOOKS = [(PHONE, "day"), (PHONE, "night"), (DESK, "day"), (DESK, "night")]
NAMED = ["phone-day", "phone-night", "desk-day", "desk-night"]

PAGES = [
    *((FAILURE, VIEW, *look) for look in LOOKS),
    # In view 4, battery only, of each other kind of page.
    *(
        (path, 4, *look)
        for path in (
            "block-1/buses.html",
            "block-2/bus-essential.html",
            "block-2/equipment-com-1.html",
        )
        for look in (LOOKS[1], LOOKS[2])
    ),
]

SAYS = {
    "live": r"(\d V|Works|Live)$",
    "battery": r"battery( only)?$",
    "dead": r"(dead|no power here|not powered|if it drops|lost \+ for breakers and what to do)$",
    "open": r"open$",
    "failed": r"(failed itself|what alone can take it)$",
}
"""The words that may be beside the mark of a state, whatever their case."""

# Glyphs are hidden: a picture shows the ground of words, and what lines and marks alone show.
# Nothing scrolls in a box of its own, so that all of a page is in the picture.
DARKROOM = """
html { filter: grayscale(1); }
.strip, .jumps, .menu { position: static !important; overflow: visible !important; }
.jumps { flex-wrap: wrap !important; }
.conditions { flex: 1 0 100% !important; }
* { -webkit-text-fill-color: transparent !important; text-decoration: none !important;
    transition: none !important; }
svg text { fill-opacity: 0 !important; stroke: none !important; }
summary::marker { color: transparent !important; }
"""

READ = """
() => {
  const shown = e => e.checkVisibility({visibilityProperty: true, opacityProperty: true});
  const corner = {x: 0, y: 0};  // where the picture begins
  const box = (r, more = 0) => {
    const x = scrollX - corner.x, y = scrollY - corner.y;
    return [r.left + x - more, r.top + y - more, r.right + x + more, r.bottom + y + more]
      .map(x => Math.round(x * devicePixelRatio));
  };
  const onlyOf = e => {
    const r = e.getBoundingClientRect();
    corner.x = Math.floor(r.left + scrollX);
    corner.y = Math.floor(r.top + scrollY);
    return {...corner, width: Math.ceil(r.width) + 1, height: Math.ceil(r.height) + 1};
  };
  const ground = e => {
    for (; e; e = e.parentElement) {
      const colour = getComputedStyle(e).backgroundColor;
      if (!colour.endsWith(', 0)')) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const placed = ['d', 'x', 'y', 'width', 'height', 'cx', 'cy', 'r'];
  const shapes = e => [...e.querySelectorAll('path,rect,circle')]
    .filter(s => shown(s) && !s.matches('.hit,.h,.plate')).map(s => {
      const style = getComputedStyle(s);
      return {drawn: placed.map(a => s.getAttribute(a)).join(), stroke: style.stroke,
              width: parseFloat(style.strokeWidth.match(/[0-9.]+/)), dashes: style.strokeDasharray};
    });
  const texts = e => {
    const found = [];
    const walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
      const node = walk.currentNode, holder = node.parentElement;
      if (!node.data.trim() || !shown(holder) || holder.closest('script,style,title')) continue;
      // The letter in a symbol is under the cross of a failed one; the name is beside it.
      if (holder.matches('.letter') && shown(holder.closest('a').querySelector('.cross'))) continue;
      const style = getComputedStyle(holder);
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const r of range.getClientRects())
        found.push({says: node.data.trim(), box: box(r), word: !!holder.closest('.word'),
                    drawn: !!holder.closest('.diagram'),
                    colour: holder.namespaceURI.endsWith('svg') ? style.fill : style.color});
    }
    return found;
  };
  window.look = {shown, box, onlyOf, ground, shapes, texts};
}
"""

MEASURE = """
() => ({
  texts: look.texts(document.body).filter(text => !text.drawn),
  labels: [...document.querySelectorAll('label[for^=view]')].filter(look.shown).map(e => ({
    group: e.closest('.menu, .modes, .states').classList[0],
    chosen: document.getElementById(e.htmlFor).checked, ground: look.ground(e),
    bar: getComputedStyle(e).borderLeftColor, around: look.ground(e.parentElement)})),
  bars: ['.group.is-lost', '.group.is-reduced', '.group.is-battery', '.functions .lost li',
         '.functions .one-left li'].map(name => {
    const e = [...document.querySelectorAll(name)].find(look.shown);
    if (!e) return null;
    const style = getComputedStyle(e);
    const title = e.matches('.functions *') ? e.parentElement.previousElementSibling : null;
    return {line: style.borderLeftStyle, colour: style.borderLeftColor,
            says: (title ? title.innerText + ' ' : '') + e.innerText,
            width: parseFloat(style.borderLeftWidth), ground: look.ground(e.parentElement)};
  }),
  marks: [...document.querySelectorAll('.state-mark')].filter(look.shown).map(mark => ({
    state: [...mark.classList].find(n => n.startsWith('state-') && n !== 'state-mark').slice(6),
    says: mark.parentElement.innerText.trim(), shapes: look.shapes(mark),
    ground: look.ground(mark.parentElement)})),
})
"""

UNFOLD = """
() => {
  // The drawing keeps the size that the page gives it, and is all there, whatever pans or sticks.
  const drawing = document.querySelector('svg.diagram'), size = drawing.getBoundingClientRect();
  for (let e = drawing.parentElement; e; e = e.parentElement)
    e.style.cssText += 'overflow: visible !important; height: auto !important;'
      + 'max-height: none !important; position: static !important;';
  drawing.style.cssText += `width: ${size.width}px !important; height: ${size.height}px !important;`
    + 'max-width: none !important; max-height: none !important; min-width: 0 !important;';
}
"""

Shape = Mapping[str, Any]


class Seen(NamedTuple):
    """A part, or a mark, in one state."""

    kind: str
    state: str
    wires: str
    """The states of the wires at which it is seen."""
    shapes: list[Shape]
    picture: Image.Image
    """In two tones, without words."""


class Measured(NamedTuple):
    """What was read off a page, and its photograph."""

    path: str
    texts: list[dict[str, Any]]
    labels: list[dict[str, Any]]
    bars: list[dict[str, Any] | None]
    marks: list[dict[str, Any]]
    picture: Image.Image


def grey(colour: str) -> int:
    """The grey, 0 to 255, that the filter makes of a colour (Filter Effects 1, from memory)."""
    red, green, blue, *opacity = map(float, re.findall(r"[\d.]+", colour))
    assert opacity in ([], [1.0]), colour
    return round(0.2126 * red + 0.7152 * green + 0.0722 * blue)


@cache
def contrast(one: int, other: int) -> float:
    """The contrast of two greys (the formula of WCAG 2.2, from memory)."""

    def luminance(level: int) -> float:
        share = level / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@cache
def too_near(level: int, least: float) -> tuple[int, ...]:
    """The greys with which a grey does not contrast."""
    return tuple(k for k in range(256) if contrast(k, level) < least)


@contextmanager
def opened(
    browser: Browser, size: dict[str, int], look: str, path: Path, view: int, sharp: int = 1
) -> Iterator[Page]:
    """A page in one view, as the filter shows it, with `sharp` pixels for one of the style's."""
    page = kept_page(browser, size["width"], size["height"], look, sharp)
    page.goto(path.as_uri())
    add_style(page, DARKROOM)
    page.evaluate(READ)
    page.evaluate(
        "view => { document.getElementById(`view-${view}`).checked = true;"
        " document.querySelectorAll('main details, .conditions')"
        ".forEach(d => { d.open = !d.closest('figure') }); }",
        view,
    )
    yield page
    page.goto("about:blank")


@cache
def kept_page(browser: Browser, width: int, height: int, look: str, sharp: int) -> Page:
    """One page for all photographs: to make a new one takes longer than to photograph it."""
    page = browser.new_page(
        viewport={"width": width, "height": height},
        color_scheme="dark" if look == "night" else "light",
        device_scale_factor=sharp,
    )
    # A photograph of the whole page enlarges the window for a moment: nothing is fitted to that.
    page.add_init_script("addEventListener('resize', e => e.stopImmediatePropagation(), true)")
    return page


def read(page: Page, function: str, argument: object = None) -> Any:
    """What a function says of the page; as one text, which is much faster than value by value."""
    return json.loads(page.evaluate(f"given => JSON.stringify(({function})(given))", argument))


def photograph(page: Page, clip: FloatRect | None = None) -> Image.Image:
    """The whole page, or a part of it; every pixel is a grey."""
    picture = Image.open(io.BytesIO(page.screenshot(full_page=True, clip=clip))).convert("RGB")
    red, green, blue = picture.split()
    assert red.tobytes() == green.tobytes() == blue.tobytes(), "the picture is not in greyscale"
    return red


def two_tones(picture: Image.Image, ground: int) -> Image.Image:
    """Black where something contrasts with the ground, by the contrast of WCAG for lines."""
    near = too_near(ground, LINE)
    return picture.point([0 if k in near else 255 for k in range(256)], "1")


def apart(one: Image.Image, other: Image.Image) -> float:
    """The share of the ink of two pictures, laid over each other, that is in one of them only."""

    def ink(picture: Image.Image) -> int:
        return picture.histogram()[255]

    either = ink(ImageChops.logical_or(one, other))
    assert either, "nothing is drawn"
    return ink(ImageChops.logical_xor(one, other)) / either


def line_or_mark_differs(one: list[Shape], other: list[Shape]) -> bool:
    """Whether two states draw something else, or the same with other dashes or much wider."""
    if [s["drawn"] for s in one] != [s["drawn"] for s in other]:
        return True
    pairs = list(zip(one, other, strict=True))
    if any(a["dashes"] != b["dashes"] for a, b in pairs):
        return True
    widths = [sorted((a["width"], b["width"])) for a, b in pairs]
    return any(wide >= THICKER * narrow for narrow, wide in widths)


def check_apart(ways: list[Seen]) -> None:
    """Every two states differ in a photograph, and not by filling and shade alone.

    A device that conducts is shown live, on battery or dead by the wire that it is in, a source
    by the wire at its terminals; of these the ends of the wires are in the photograph.
    """
    for one, other in itertools.combinations(ways, 2):
        if one.state == other.state:
            continue
        case = f"{one.kind}: {one.state} and {other.state}, at {one.wires} and {other.wires} wires"
        share = apart(one.picture, other.picture)
        assert share >= SMALL.get(one.kind, APART), f"{case}: only {share:.0%} of the ink differs"
        by_its_wire = one.kind.split()[0] in ("device", "source")
        if not by_its_wire or {"open", "failed"} & {one.state, other.state}:
            assert line_or_mark_differs(one.shapes, other.shapes), f"{case}: lines and marks agree"


def check_lines(shapes: list[Shape], ground: int, where: str) -> None:
    """Each line contrasts with the ground, or is cut out of ink in the ground's own tone."""
    inked = 0
    for shape in shapes:
        if shape["stroke"] != "none":
            contrasts = contrast(grey(shape["stroke"]), ground)
            assert contrasts >= LINE or contrasts == 1, f"{where}: {contrasts:.1f}:1"
            inked += contrasts >= LINE
    assert inked, f"{where}: nothing is drawn"


def check_texts(picture: Image.Image, texts: list[dict[str, Any]], where: str) -> None:
    """Each text against what is behind it; a tenth may be the edge of a thing nearby."""
    for text in texts:
        left, top, right, bottom = text["box"]
        if right <= 0 or bottom <= 0:
            continue  # set aside for those who hear the page
        assert right <= picture.width, f"{where}: '{text['says']}' is not in the picture"
        assert bottom <= picture.height, f"{where}: '{text['says']}' is not in the picture"
        counts = picture.crop((left, top + 1, right, bottom - 1)).histogram()
        level = grey(text["colour"])
        poor = sum(counts[k] for k in too_near(level, TEXT))
        assert poor <= sum(counts) / 10, (
            f"{where}: '{text['says']}' in grey {level} on grey {counts.index(max(counts))}"
        )


def all_in(page: Page, state: str, wires: str) -> list[dict[str, Any]]:
    """Set every part of the drawing to a state, its wires to another; how each is then drawn.

    The classes are those that the script paints.
    """
    found: list[dict[str, Any]] = read(
        page,
        """([state, wires]) => [...document.querySelectorAll('svg.diagram a.part')]
        .filter(a => !a.querySelector('.joint'))  // a dot where wires meet is in their state
        .map(a => {
          const own = [...a.classList].filter(n => n !== 'part' && !/^state-/.test(n));
          const kind = own.join(' '), now = kind === 'wire' ? wires : state;
          a.setAttribute('class', `part ${kind} state-${now}`);
          return [a, kind];
        }).map(([a, kind]) => ({
          kind, shapes: look.shapes(a), texts: look.texts(a),
          box: look.box(a.querySelector('g,.bar,.run').getBoundingClientRect(),
                        kind === 'wire' ? 3 : 12),
          ground: look.ground(a.ownerSVGElement),
        }))""",
        [state, wires],
    )
    assert len(found) > 50
    return found


def cases(kind: str, wires: str) -> tuple[str, ...]:
    """The states of a part of a kind that is at such wires."""
    if kind == "wire":
        return (wires,)
    # Nothing opens a diode or a shunt but its failure.
    opens = kind.startswith("device") and kind.split()[1] not in ("diode", "shunt")
    return (wires, "open", "failed") if opens else (wires, "failed")


@pytest.mark.parametrize(("size", "look"), LOOKS, ids=NAMED)
def test_every_part_of_a_drawing_shows_its_state_without_colour(
    browser: Browser, site: Path, size: dict[str, int], look: str
) -> None:
    """Every part of the demo is put into every state it can be in, at wires in every state."""
    seen: dict[int, list[Seen]] = {}
    # At a desk the whole drawing is made smaller than the style sheet's pixels.
    sharp = 1 if size == PHONE else 2
    with opened(browser, size, look, site / FAILURE, VIEW, sharp) as page:
        page.evaluate(UNFOLD)
        clip = page.evaluate("look.onlyOf(document.querySelector('svg.diagram'))")
        for wires in WIRES:
            # Stripes are the first to be lost in a small drawing.
            more = ("open", "failed") if size == PHONE or wires == "battery" else ()
            for state in (wires, *more):
                parts = all_in(page, state, wires)
                picture = photograph(page, clip)
                ground = grey(parts[0]["ground"])
                tones = two_tones(picture, ground)
                for number, part in enumerate(parts):
                    kind, shapes = part["kind"], part["shapes"]
                    if state in cases(kind, wires):
                        check_lines(shapes, ground, f"{kind}, {state}")
                        check_texts(picture, part["texts"], f"{kind}, {state}")
                        crop = tones.crop(part["box"])
                        seen.setdefault(number, []).append(Seen(kind, state, wires, shapes, crop))
    kinds = {ways[0].kind.split()[0] for ways in seen.values()}
    assert kinds == {"wire", "bus", "source", "device"}
    for ways in seen.values():
        check_apart(ways)


Choice = tuple[str, int, dict[str, int], str]
"""A page, its view, the size and the look."""


def page_name(page: Choice) -> str:
    return f"{Path(page[0]).stem}-{'phone' if page[2] == PHONE else 'desk'}-{page[3]}"


@pytest.fixture(scope="module", params=PAGES, ids=page_name)
def measured(request: pytest.FixtureRequest, browser: Browser, site: Path) -> Measured:
    path, view, size, look = request.param
    with opened(browser, size, look, site / path, view) as page:
        return Measured(path, **read(page, MEASURE), picture=photograph(page))


def test_every_text_contrasts_with_its_ground(measured: Measured) -> None:
    assert len(measured.texts) > 50
    check_texts(measured.picture, measured.texts, measured.path)


def test_the_chosen_condition_is_shown_without_colour(measured: Measured) -> None:
    groups = {label["group"] for label in measured.labels}
    assert "menu" in groups
    for group in groups:
        labels = [label for label in measured.labels if label["group"] == group]
        chosen, others = ([one for one in labels if one["chosen"] is c] for c in (True, False))
        assert chosen
        # The state in the chosen condition alone is shown on a phone.
        assert others or group == "states"
        check_chosen(chosen, others)


def check_chosen(chosen: list[dict[str, Any]], others: list[dict[str, Any]]) -> None:
    """By a ground that contrasts with that of the others, or by a bar that they have not."""
    for one, other in itertools.product(chosen, others):
        by_ground = contrast(grey(one["ground"]), grey(other["ground"]))
        has_bar = other["bar"].endswith(", 0)") and not one["bar"].endswith(", 0)")
        by_bar = contrast(grey(one["bar"]), grey(one["around"])) if has_bar else 1
        assert max(by_ground, by_bar) >= LINE, f"{by_ground:.1f}:1"


def test_every_mark_in_a_list_contrasts_and_is_beside_a_word_of_its_state(
    measured: Measured,
) -> None:
    assert len({mark["state"] for mark in measured.marks}) > 1
    for mark in measured.marks:
        state, says = mark["state"], " ".join(mark["says"].split())
        fitting = [s for s, words in SAYS.items() if re.search(words, says, re.IGNORECASE)]
        assert fitting == [state], f"'{says}' at the mark of {state}"
        check_lines(mark["shapes"], grey(mark["ground"]), f"mark of {state}")


@pytest.mark.parametrize(
    "measured", [p for p in PAGES if p[0] == FAILURE], ids=page_name, indirect=True
)
def test_what_is_lost_reduced_and_on_battery_is_after_lines_of_three_kinds(
    measured: Measured,
) -> None:
    for bar in measured.bars:
        assert bar
        assert bar["width"] >= 3
        assert contrast(grey(bar["colour"]), grey(bar["ground"])) >= LINE, bar
    lost, reduced, battery, function_lost, one_left = (bar or {} for bar in measured.bars)
    assert len({lost["line"], reduced["line"], battery["line"]}) == 3
    assert function_lost["line"] != one_left["line"]
    assert lost["says"].startswith("Lost ")
    assert reduced["says"].startswith("Reduced ")
    assert battery["says"].startswith("On battery only\n")
    assert function_lost["says"].lower().startswith("functions lost ")
    assert one_left["says"].lower().startswith("with one provider left ")
    assert re.search(r"\bonly ", one_left["says"])


@pytest.mark.parametrize(("size", "look"), LOOKS, ids=NAMED)
def test_the_marks_of_the_legend_are_distinguished_without_colour(
    browser: Browser, site: Path, size: dict[str, int], look: str
) -> None:
    with opened(browser, size, look, site / FAILURE, VIEW, sharp=2) as page:
        page.locator("figure details").first.evaluate("e => e.open = true")
        clip = page.evaluate("look.onlyOf(document.querySelector('.diagram-legend'))")
        entries = page.evaluate(
            """() => [...document.querySelectorAll('.diagram-legend li')]
            .filter(e => e.querySelector('.state-mark')).map(e => ({
              says: e.innerText.trim(), shapes: look.shapes(e), ground: look.ground(e),
              box: look.box(e.querySelector('svg').getBoundingClientRect(), 2)}))"""
        )
        picture = photograph(page, clip)
    assert [entry["says"] for entry in entries] == [STATE_NAMES[state] for state in STATES]
    seen = []
    for state, entry in zip(STATES, entries, strict=True):
        ground = grey(entry["ground"])
        check_lines(entry["shapes"], ground, state)
        crop = two_tones(picture, ground).crop(entry["box"])
        seen.append(Seen("mark", state, "no", entry["shapes"], crop))
    check_apart(seen)


def test_every_state_of_a_drawing_is_said_in_words(browser: Browser, site: Path) -> None:
    with opened(browser, PHONE, "day", site / FAILURE, VIEW) as page:
        for state in STATES:
            wires = state if state in WIRES else "dead"
            for part in all_in(page, state, wires):
                kind = part["kind"]
                if kind == "wire" or state not in cases(kind, wires):
                    continue
                # Nobody misses a word at a source that is live or at a device that conducts.
                silent = state == "live" and kind != "bus"
                silent = silent or (state == wires and kind.startswith("device"))
                words = [text["says"] for text in part["texts"] if text["word"]]
                assert words == ([] if silent else [STATE_WORDS[state]]), (kind, state)


def test_every_device_and_source_is_in_a_wire_of_its_state(browser: Browser, site: Path) -> None:
    """So that its wire may show what its symbol does not: live, on battery or dead."""
    with opened(browser, PHONE, "day", site / FAILURE, VIEW) as page:
        lonely = page.evaluate(
            """() => {
              const power = ['live', 'battery', 'dead'];
              const state = (a, k) => power.find(name => a.matches(`.${name}-${k}`));
              const ends = [...document.querySelectorAll('.wire .run')].flatMap(run =>
                [0, run.getTotalLength()].map(l => [run.closest('a'), run.getPointAtLength(l)]));
              const found = [];
              for (const a of document.querySelectorAll('.device, .source')) {
                const at = a.querySelector('g').transform.baseVal[0].matrix;
                const near = ends.filter(([, p]) => Math.hypot(p.x - at.e, p.y - at.f) < 24);
                for (let k = 0; k < 10; k++) {
                  const its = state(a, k);
                  if (its && !near.some(([wire]) => state(wire, k) === its))
                    found.push(`${a.dataset.part}, view ${k}: ${its}`);
                }
              }
              return found;
            }"""
        )
    assert lonely == []


def test_the_look_by_night_is_the_same_by_the_button_and_by_the_phone(
    browser: Browser, site: Path
) -> None:
    names = ["paper", "sheet", "ink", "soft", "rule", "accent", "warn", "draw", *STATES]
    names += ["accent-wash", "warn-wash", "battery-wash", "dead-wash", "chosen-ground", "on-chosen"]
    looks = []
    for scheme in ("day", "night"):
        with opened(browser, PHONE, scheme, site / FAILURE, VIEW) as page:
            if scheme == "day":
                page.evaluate("document.documentElement.dataset.look = 'night'")
            looks.append(
                read(
                    page,
                    """names => names.map(name =>
                    getComputedStyle(document.documentElement).getPropertyValue(`--${name}`))""",
                    names,
                )
            )
    assert all(looks[0])
    assert looks[0] == looks[1]
