"""How long after a file of the demo is saved its page shows the change, in Chromium.

Usage: `python -m tests.bench.preview`. The time ends when the text of the new page is painted
(first contentful paint of the Paint Timing standard); its drawing follows.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.conftest import chromium_path

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"
PAGES = ("bus-aft", "equipment-flap-motor", "failure-aft", "loads")
TIMES = 9
REST = 1.5
"""Between two saves, s."""
PAINTED = """() => {
  const [paint] = performance.getEntriesByName("first-contentful-paint");
  return paint ? performance.timeOrigin + paint.startTime : null;
}"""


def main() -> None:
    """Print the median time of each page."""
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        folder = Path(shutil.copytree(DEMO, Path(temporary) / "catalogue"))
        command = [sys.executable, "-m", "sitegen", "preview", str(folder), "--port", "0"]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert server.stdout is not None
        address = next(word for line in server.stdout for word in line.split() if "http" in word)
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page()
        aircraft = folder / "aircraft.yaml"
        for name in PAGES:
            page.goto(f"{address}block-1/{name}.html")
            taken = []
            for k in range(TIMES):
                revision = f'revision: "{name[:3]}{k}"'
                lines = aircraft.read_text(encoding="utf-8").splitlines()
                lines = [
                    f"  {revision}" if line.startswith("  revision:") else line for line in lines
                ]
                # Nobody saves again before the page that is shown has its drawing.
                time.sleep(REST)
                begun = time.time()
                aircraft.write_text("\n".join(lines) + "\n", encoding="utf-8")
                page.wait_for_selector(f".title-block dd:text-is('{name[:3]}{k}')")
                page.wait_for_function(PAINTED)
                taken.append(page.evaluate(PAINTED) / 1000 - begun)
            taken.sort()
            print(f"{name}: median {taken[TIMES // 2]:.2f} s, longest {taken[-1]:.2f} s")
        browser.close()
        server.terminate()


if __name__ == "__main__":
    main()
