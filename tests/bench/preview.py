"""How long after a file of the demo is saved its page shows the change, in Chromium.

Usage: `python -m tests.bench.preview`.
"""

from __future__ import annotations

import shutil
import tempfile
import threading
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from sitegen.arguments import catalogue_errors
from sitegen.catalogue.read import read
from sitegen.output.preview import Preview, Server
from tests.browser.conftest import chromium_path

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"
PAGES = ("bus-aft", "equipment-flap-motor", "failure-aft", "loads")
TIMES = 5
REST = 1.5
"""Between two saves, s."""


def main() -> None:
    """Print the median time of each page."""
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        folder = Path(shutil.copytree(DEMO, Path(temporary) / "catalogue"))
        shown = Preview(
            folder, lambda: read(folder), lambda r: [str(e) for e in catalogue_errors(r)]
        )
        server = Server(shown, "localhost", 0)
        shown.look()
        threading.Thread(target=server.watch, daemon=True).start()
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page()
        aircraft = folder / "aircraft.yaml"
        for name in PAGES:
            page.goto(f"{server.address}block-1/{name}.html")
            taken = []
            for k in range(TIMES):
                revision = f'revision: "{name[:3]}{k}"'
                lines = aircraft.read_text(encoding="utf-8").splitlines()
                lines = [
                    f"  {revision}" if line.startswith("  revision:") else line for line in lines
                ]
                # Nobody saves again before the page that is shown has its drawing.
                time.sleep(REST)
                begun = time.perf_counter()
                aircraft.write_text("\n".join(lines) + "\n", encoding="utf-8")
                page.wait_for_selector(f".title-block dd:text-is('{name[:3]}{k}')")
                taken.append(time.perf_counter() - begun)
            taken.sort()
            print(f"{name}: median {taken[TIMES // 2]:.2f} s, longest {taken[-1]:.2f} s")
        browser.close()


if __name__ == "__main__":
    main()
