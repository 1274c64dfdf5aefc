"""Lighthouse, on its settings for a phone, on four pages of the demo from a host that compresses.

Run by hand: `python -m tests.bench.lighthouse`. It needs Node.js, and a Chromium on the path or in
CHROMIUM; it has npm fetch Lighthouse (Google, Apache 2.0) into a folder that goes when it is done,
or takes the `lighthouse` command named in LIGHTHOUSE. Medians of three runs; on a busy machine the
performance is that of the machine.
"""

from __future__ import annotations

import functools
import gzip
import http.server
import io
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

RUNS = 3
PAGES = (
    "block-1/index.html",
    "block-1/failure-forward.html",
    "block-1/board.html",
    "block-1/diagnose.html",
)
AIMS = {"performance": 95, "accessibility": 100, "best-practices": 100}
TEXTS = (".html", ".css", ".js", ".json", ".svg")


class Compressing(http.server.SimpleHTTPRequestHandler):
    """Texts travel compressed, as from any web host."""

    def send_head(self) -> io.BytesIO | None:
        path = Path(self.translate_path(self.path))
        if not path.is_file():
            self.send_error(404)
            return None
        data = path.read_bytes()
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(str(path)))
        if path.suffix in TEXTS:
            data = gzip.compress(data)
            self.send_header("Content-Encoding", "gzip")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        return io.BytesIO(data)

    def log_message(self, *_: object) -> None:
        pass


def main() -> None:
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work)
        command = [sys.executable, "-m", "sitegen", "publish", "--to", str(folder / "site")]
        subprocess.run(command, check=True, capture_output=True)
        handler = functools.partial(Compressing, directory=str(folder / "site"))
        host = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
        threading.Thread(target=host.serve_forever, daemon=True).start()
        missed = 0
        for page in PAGES:
            address = f"http://localhost:{host.server_port}/{page}"
            runs = [scores(address, folder) for _ in range(RUNS)]
            for name, aim in AIMS.items():
                score = statistics.median(run[name] for run in runs)
                missed += score < aim
                print(f"{page}: {name} {score:.0f} (aim {aim})", flush=True)
        host.shutdown()
    sys.exit(1 if missed else 0)


def scores(address: str, folder: Path) -> dict[str, float]:
    """By category, of 100."""
    lighthouse = os.environ.get("LIGHTHOUSE")
    command = [lighthouse] if lighthouse else ["npm", "exec", "--yes", "lighthouse", "--"]
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium") or ""
    report = folder / "report.json"
    subprocess.run(
        [
            *command,
            address,
            "--quiet",
            "--output=json",
            f"--output-path={report}",
            f"--only-categories={','.join(AIMS)}",
            "--chrome-flags=--headless=new --no-sandbox --disable-gpu",
        ],
        check=True,
        capture_output=True,
        cwd=folder,
        env={**os.environ, "CHROME_PATH": chromium, "npm_config_cache": str(folder / "npm")},
    )
    categories = json.loads(report.read_text(encoding="utf-8"))["categories"]
    return {name: 100 * categories[name]["score"] for name in AIMS}


if __name__ == "__main__":
    main()
