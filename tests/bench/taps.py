"""How many taps, words typed and screens scrolled ten tasks take on a phone.

Usage: `python -m tests.bench.taps SITE`, with the demo's published site. Each task begins on the
front page of its first airframe. A tap is one; a word typed is one; what is not in view costs the
screens that a thumb scrolls to it, each four fifths of the window's height.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

from playwright.sync_api import Locator, Page, sync_playwright

from tests.browser.conftest import PHONE, chromium_path

Step = tuple[str, ...]
"""`tap SELECTOR`, `type SELECTOR WORDS` or `see SELECTOR`."""

RESULT = "#find .results a >> nth=0"
TASKS: dict[str, list[Step]] = {
    "What else drops with COM 1's bus in Approach?": [
        ("type", "#wanted", "vhf com 1"),
        ("tap", RESULT),
        ("tap", "#supplies .fed a >> nth=0"),
        ("tap", ".conditions summary"),
        ("tap", ".menu-row label:visible:has-text('Approach')"),
        ("see", ".is-lost .count:visible"),
    ],
    "How long with both generators out?": [
        ("tap", ".page-links a:has-text('What do I lose?')"),
        ("tap", "a:has-text('Both generators')"),
        ("see", ".lasting:visible"),
    ],
    "What lights GEN 2 OFF?": [
        ("type", "#wanted", "gen 2 off"),
        ("tap", RESULT),
        ("see", "dt:has-text('Lit when')"),
    ],
    "How do serials 25 to 58 differ?": [
        ("tap", ".page-links a:has-text('Serials 25 to 58')"),
        ("see", ".effects >> nth=0"),
    ],
    "Which breaker has the flap motor, and where is it?": [
        ("type", "#wanted", "flap motor"),
        ("tap", RESULT),
        ("see", ".place.big"),
    ],
    "The mid voltmeter shows 0 V: what failed?": [
        ("tap", ".page-links a:has-text('What failed?')"),
        ("tap", ".meter:has-text('Mid voltmeter') button:has-text('0 V') >> nth=0"),
        ("see", ".causes li >> nth=0"),
    ],
    "The aft bus is shorted: what is lost?": [
        ("tap", ".page-links a:has-text('What do I lose?')"),
        ("tap", "#dead-buses a:has-text('Aft bus')"),
        ("tap", ".mode-row label:visible:has-text('Shorted')"),
        ("see", ".headline:visible"),
    ],
    "The essential bus is dead and BEACON is open: how much is lost?": [
        ("type", "#wanted", "essential bus drops"),
        ("tap", RESULT),
        ("tap", ".jumps a:has-text('Drawing')"),
        ("tap", ".and-also"),
        ("tap", "#board-find summary"),
        ("type", "#board-find input", "beacon"),
        ("tap", "#board-find li button:has(span:text-is('BEACON'))"),
        ("tap", ".board-part .buttons button:has-text('Open')"),
        ("see", ".board-answer .first"),
    ],
    "Generator 1 is lost: is a source overloaded?": [
        ("tap", ".page-links a:has-text('What do I lose?')"),
        ("tap", "#sources a:has-text('Generator 1')"),
        ("tap", ".jumps a:has-text('Loads')"),
        ("see", "#loads .readings li:visible >> nth=0"),
    ],
    "The handout of the course": [
        ("tap", ".page-links a:has-text('On paper')"),
        ("tap", ".tiles a >> nth=0"),
        ("see", "h1"),
    ],
}


def screens(part: Locator, page: Page) -> int:
    """How many screens a thumb scrolls until a part is in view."""
    box = part.bounding_box()
    assert box, part
    below = box["y"] + min(box["height"], 44) - PHONE["height"]
    above = 96 - box["y"]
    return max(0, math.ceil(max(below, above) / (0.8 * PHONE["height"])))


def count(page: Page, steps: list[Step]) -> tuple[int, int, int]:
    """Taps, words typed and screens scrolled of one task."""
    taps = typed = scrolled = 0
    for what, selector, *words in steps:
        part = page.locator(selector).first
        part.wait_for(state="visible", timeout=20_000)
        page.wait_for_timeout(300)
        scrolled += screens(part, page)
        if what == "see":
            continue
        taps += 1
        part.click()
        if words:
            typed += len(words[0].split())
            page.keyboard.type(words[0])
    return taps, typed, scrolled


def main(site: Path, tasks: dict[str, list[Step]] | None = None) -> None:
    """Print a line of a Markdown table for each task."""
    print("| task | taps | words | screens |\n| --- | --- | --- | --- |")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=["--no-sandbox", "--disable-gpu"]
        )
        for name, steps in (tasks or TASKS).items():
            page = browser.new_page(viewport={"width": PHONE["width"], "height": PHONE["height"]})
            page.goto((site / "block-1" / "index.html").resolve().as_uri())
            print(f"| {name} | {' | '.join(map(str, count(page, steps)))} |", flush=True)
            page.close()
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
