"""No text of a drawing touches another text or a line, measured on what the browser has drawn.

Every part is shown failed, then on battery: then the longest words, the crosses and the widest
lines stand in the drawing at the same time, which no answer ever shows.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from sitegen.catalogue.fitted import on_airframe
from sitegen.catalogue.read import read
from sitegen.diagram.drawing import Drawing, lay_out
from sitegen.diagram.plan import feed, overview
from sitegen.pages.theme import theme_text
from sitegen.resources import demo_catalogue
from tests.diagram.diagram_nets import long_named, made_up, twin

NETS = {
    "twin": twin,
    "5 buses": lambda: made_up(5, 1),
    "5 buses, long names": lambda: long_named(made_up(5, 8)),
    "20 buses": lambda: made_up(20, 2),
    "20 buses, long names": lambda: long_named(made_up(20, 3)),
    "80 buses": lambda: made_up(80, 4),
    "80 buses, long names": lambda: long_named(made_up(80, 9)),
}

MEASURE = """() => {
  // Where a letter can have ink: from the height of capitals to the depth of a g.
  const UP = 0.73, DOWN = 0.22;
  const shown = e => e.checkVisibility();
  const texts = [], lines = [], faults = [];
  for (const svg of document.querySelectorAll("svg.diagram")) {
    for (const t of svg.querySelectorAll("text")) {
      const pieces = t.querySelector("tspan") ? [...t.querySelectorAll("tspan")] : [t];
      for (const piece of pieces) {
        if (!shown(piece) || !piece.getNumberOfChars()) continue;
        const style = getComputedStyle(piece), size = parseFloat(style.fontSize);
        const first = piece.getStartPositionOfChar(0);
        const last = piece.getEndPositionOfChar(piece.getNumberOfChars() - 1);
        const m = t.getScreenCTM();
        const at = (x, y) => [m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f];
        const [x, y] = at(first.x, first.y - size * UP), [r, b] = at(last.x, last.y + size * DOWN);
        texts.push({of: t.closest(".part"), says: piece.textContent, x, y, r, b,
                    letter: t.matches(".letter")});
      }
    }
    for (const g of svg.querySelectorAll("path, rect, circle")) {
      if (!shown(g) || g.matches(".hit, .h, .plate, .stripes, .core")) continue;
      const style = getComputedStyle(g);
      if (style.stroke === "none") continue;
      const m = g.getScreenCTM(), scale = Math.hypot(m.a, m.b);
      const half = parseFloat(style.strokeWidth) / 2 * scale;
      const whole = g.getTotalLength(), points = [];
      for (let k = 0; k <= whole; k += 1.5) {
        const p = g.getPointAtLength(Math.min(k, whole));
        points.push([m.a * p.x + m.c * p.y + m.e, m.b * p.x + m.d * p.y + m.f]);
      }
      lines.push({of: g.closest(".part"), shape: g.getAttribute("class"), half, points,
                  fill: style.fill !== "none" && g.getBoundingClientRect()});
    }
  }
  const name = p => p.querySelector("title")?.textContent || p.getAttribute("class");
  const SLACK = 0.3;
  for (let i = 0; i < texts.length; i++) {
    const a = texts[i];
    for (let j = i + 1; j < texts.length; j++) {
      const b = texts[j];
      if (a.x < b.r - SLACK && b.x < a.r - SLACK && a.y < b.b - SLACK && b.y < a.b - SLACK)
        faults.push(`'${a.says}' and '${b.says}'`);
    }
  }
  // By strips of the page, so that a large net is measured in reasonable time.
  const STRIP = 40, strips = new Map();
  texts.forEach(t => {
    for (let s = Math.floor((t.y - 6) / STRIP); s <= Math.floor((t.b + 6) / STRIP); s++) {
      if (!strips.has(s)) strips.set(s, []);
      strips.get(s).push(t);
    }
  });
  for (const line of lines) {
    const hit = new Set();
    for (const [x, y] of line.points)
      for (const t of strips.get(Math.floor(y / STRIP)) || []) {
        if (hit.has(t)) continue;
        const own = t.of === line.of && (t.letter || line.shape === "bar");
        if (own) continue;
        const h = line.half - SLACK;
        if (x + h > t.x && x - h < t.r && y + h > t.y && y - h < t.b) {
          hit.add(t);
          faults.push(`'${t.says}' of ${name(t.of)} and the ${line.shape} of ${name(line.of)}`);
        }
      }
  }
  for (const line of lines.filter(l => l.fill)) {
    const f = line.fill;
    for (const t of texts) {
      if (t.of === line.of) continue;
      const x = (t.x + t.r) / 2, y = (t.y + t.b) / 2;
      if (x > f.left && x < f.right && y > f.top && y < f.bottom && line.shape === "bar")
        faults.push(`'${t.says}' lies on ${name(line.of)}`);
    }
  }
  return {texts: texts.length, lines: lines.length, faults};
}"""


def show(page: Page, drawings: list[Drawing], state: str) -> dict[str, Any]:
    """The drawings with every part in one state, measured."""
    style = theme_text("palette.css") + theme_text("diagram.css")
    body = "".join(d.render(lambda part: f"{state}-0") for d in drawings)
    page.set_content(f"<!doctype html><style>{style}</style><body class=show-0>{body}")
    found: dict[str, Any] = page.evaluate(MEASURE)
    return found


@cache
def drawn(net: str) -> list[Drawing]:
    """The overview of a net, and the feeds of its first, middle and last bus."""
    catalogue = NETS[net]()
    ids = [b.id for b in catalogue.buses]
    some = dict.fromkeys([ids[0], ids[len(ids) // 2], ids[-1]])
    return lay_out([overview(catalogue), *(feed(catalogue, [bus]) for bus in some)])


@pytest.fixture(scope="module")
def desk(browser: Browser) -> Any:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    yield page
    page.close()


@cache
def demo() -> list[Drawing]:
    """Of each airframe of the demo the overview, and the feed of every bus."""
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue
    pictures = []
    for airframe in catalogue.airframes:
        fitted = on_airframe(catalogue, airframe.id)
        pictures += [overview(fitted), *(feed(fitted, [bus.id]) for bus in fitted.buses)]
    return lay_out(pictures)


@pytest.mark.parametrize("state", ["failed", "battery", "open"])
def test_no_text_touches_text_or_line_in_the_demo(desk: Page, state: str) -> None:
    found = show(desk, demo(), state)
    assert found["texts"] > 1000
    assert found["faults"] == []


@pytest.mark.parametrize("state", ["failed", "battery"])
@pytest.mark.parametrize("net", NETS)
def test_no_text_touches_text_or_line_in_a_net_of_any_size(
    desk: Page, net: str, state: str
) -> None:
    found = show(desk, drawn(net), state)
    assert found["texts"] > 20
    assert found["lines"] > 40
    assert found["faults"] == []
