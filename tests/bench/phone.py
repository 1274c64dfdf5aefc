"""How soon a phone answers: a tap on the board, the first live drawing, the ranking of causes.

Run by hand on a published site: `python -m tests.bench.phone SITE`. Chromium with its processor six
times slower (`Emulation.setCPUThrottlingRate` of the DevTools protocol).
"""

from __future__ import annotations

import random
import shutil
import sys
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

SLOWER = 6
TAPS = 80
PHONE = {"width": 360, "height": 740}

# From the tap to the frame after the one in which the answer is painted.
_PAINTED = """
(button) => new Promise((done) => {
  const started = performance.now();
  button.click();
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => done(performance.now() - started);
    channel.port2.postMessage(0);
  });
})"""

# Notes when a drawing and the sentences about causes come, and every block of over 50 ms.
_WATCH = """
(() => {
  window.noted = { drawn: null, pairs: null, blocks: [] };
  const long = (list) => noted.blocks.push(...list.getEntries().map((e) => e.duration));
  new PerformanceObserver(long).observe({ entryTypes: ["longtask"] });
  new MutationObserver(() => {
    if (noted.drawn === null && document.querySelector(".pan svg.diagram")) {
      noted.drawn = performance.now();
    }
    const said = document.querySelector(".results");
    const ranked = said && !/Trying (single|pairs)/.test(said.textContent)
      && said.querySelector(".first:not(.hint)");
    const open = noted.asked && noted.pairs === null;
    if (ranked && open) noted.pairs = performance.now() - noted.asked;
  }).observe(document, { childList: true, subtree: true, characterData: true });
})()"""


def opened(browser: Browser, url: str) -> Page:
    page = browser.new_context(viewport=PHONE, has_touch=True).new_page()
    page.add_init_script(_WATCH)
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(url)
    page.wait_for_selector(".pan svg.diagram", state="attached")
    page.wait_for_timeout(1500)
    return page


def taps(browser: Browser, board: str) -> None:
    page = opened(browser, board)
    loaded = page.evaluate(
        "noted.drawn - performance.getEntriesByType('navigation')[0].domInteractive"
    )
    whole = page.evaluate("noted.drawn")
    print(
        f"first live drawing {loaded:.0f} ms after the HTML is read, {whole:.0f} ms after the tap"
    )
    chance, times = random.Random(1), []
    parts = page.locator(".board-picture [data-part]:not(.wire)").all()
    for _ in range(TAPS):
        chance.choice(parts).evaluate(
            "(part) => part.dispatchEvent(new MouseEvent('click', "
            "{bubbles: true, cancelable: true}))"
        )
        buttons = page.locator(".board-part .buttons button").all()
        times.append(chance.choice(buttons).evaluate(_PAINTED))
        page.wait_for_timeout(120)
        if len(page.locator(".set-list button").all()) > 4:
            page.locator(".board-bar button", has_text="Clear").click()
            page.wait_for_timeout(120)
    times.sort()
    print(
        f"{TAPS} taps: half within {times[TAPS // 2]:.0f} ms,"
        f" 95 % within {times[int(TAPS * 0.95)]:.0f} ms, the slowest {times[-1]:.0f} ms"
    )
    print(f"memory {page.evaluate('performance.memory.usedJSHeapSize') / 1e6:.0f} MB")
    page.close()


def ranking(browser: Browser, diagnose: str) -> None:
    for seen in ("gen-2-off:lit", "com-1:dead", "aft-volts:0,gen-2-off:lit"):
        page = opened(browser, diagnose)
        page.evaluate("noted.blocks.length = 0")
        page.evaluate(
            "(seen) => { noted.asked = performance.now(); location.hash = `c=cruise&o=${seen}`; }",
            seen,
        )
        page.wait_for_function("() => noted.pairs !== null", timeout=300_000)
        blocks = page.evaluate("noted.blocks")
        longest = f"{max(blocks):.0f} ms" if blocks else "none over 50 ms"
        print(
            f"{seen}: singles and pairs ranked in {page.evaluate('noted.pairs'):.0f} ms;"
            f" longest block {longest};"
            f" memory {page.evaluate('performance.memory.usedJSHeapSize') / 1e6:.0f} MB"
        )
        page.close()


def main(site: str) -> None:
    folder = (Path(site) / "block-1").resolve()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--enable-precise-memory-info"],
        )
        taps(browser, (folder / "board.html").as_uri())
        ranking(browser, (folder / "diagnose.html").as_uri())
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
