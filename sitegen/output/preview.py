"""The site on this computer while its catalogue is written: pages are made as they are asked for.

A page in the browser asks for the next state and waits for the answer. When a file of the catalogue
has changed, it is read again: without errors the page is loaded anew, with errors the last good
page stays and says what is wrong.
"""

from __future__ import annotations

import gc
import json
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, unquote, urlsplit

from sitegen.catalogue.files import NOTES_ENDING, YAML_ENDINGS
from sitegen.catalogue.read import ReadResult
from sitegen.output.site import Kinds, Site, build_site
from sitegen.resources import theme

SCRIPT = "-/preview.js"
"""The script that waits for changes; no page of a site has such a path."""
STATE = "-/state"
LOOK_EVERY = 0.08
"""How often the files are looked at, s."""
QUIET = 3.0
"""So long after a change the memory of the site before is given back, s."""
LONGEST_WAIT = 20.0
"""After this many seconds a page that waits is answered that nothing has changed."""
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".csv": "text/csv; charset=utf-8",
}
LOCAL = {"localhost", "127.0.0.1", "[::1]", "::1"}

Snapshot = Mapping[str, tuple[int, int]]
"""By file of the catalogue when it was changed, ns, and its size."""


@dataclass
class Preview:
    """What is shown, and what is wrong with the files as they are now.

    Parameters
    ----------
    path : the catalogue's folder or file.
    read : reads it.
    errors : a message for each error in what was read.
    dot : another Graphviz `dot` command.
    more : further kinds of page.
    """

    path: Path
    read: Callable[[], ReadResult]
    errors: Callable[[ReadResult], list[str]]
    dot: str | None = None
    more: Kinds = ()
    version: int = 0
    """Rises with every change."""
    messages: list[str] = field(default_factory=list)
    """The errors of the files as they are; what is shown is older while there are any."""
    shown: int = -1
    """The version of the site that is shown; older while there are errors, -1 before any is."""
    _site: Site | None = None
    _seen: Snapshot = field(default_factory=dict)
    _changed: threading.Condition = field(default_factory=threading.Condition)
    _making: threading.Lock = field(default_factory=threading.Lock)

    def look(self) -> bool:
        """Read the catalogue again if a file has changed; whether one has."""
        now = self._snapshot()
        if now == self._seen:
            return False
        reading = self.read()
        messages = self.errors(reading)
        site = None
        if reading.catalogue is not None and not messages:
            site = build_site(reading, self.dot, more=self.more, by_page=True)
        with self._changed:
            self._seen = now
            self._site = site or self._site
            self.messages = messages
            self.version += 1
            if site:
                self.shown = self.version
            self._changed.notify_all()
        return True

    def _snapshot(self) -> Snapshot:
        files = [self.path] if self.path.is_file() else sorted(self.path.rglob("*"))
        found = {}
        for file in files:
            if file.name.lower().endswith((*YAML_ENDINGS, NOTES_ENDING)):
                try:
                    stat = file.stat()
                except OSError:
                    continue
                found[str(file)] = stat.st_mtime_ns, stat.st_size
        return found

    def wait_for_change(self, version: int) -> dict[str, object]:
        """The version and the messages, as soon as the version is another than this."""
        with self._changed:
            self._changed.wait_for(lambda: self.version != version, LONGEST_WAIT)
            return {"version": self.version, "messages": self.messages}

    def file(self, path: str) -> bytes | None:
        """A file of the site; None if it has no such file."""
        if path == SCRIPT:
            return (theme() / "preview.js").read_bytes()
        with self._changed:
            site, shown = self._site, self.shown
        if site is None:
            return NO_SITE.encode() if path == "index.html" else None
        with self._making:
            content = site.make(path)
        if content is None:
            return None
        if isinstance(content, bytes):
            return content
        if path.endswith(".html"):
            # Of the site that is shown: what has become wrong since is said as soon as it asks.
            content = content.replace("</head>", f"{_script(shown)}\n</head>", 1)
        return content.encode()


def _script(version: int) -> str:
    return f'<script src="/{SCRIPT}" data-version="{version}" defer></script>'


NO_SITE = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Preview</title>'
    '<link rel="stylesheet" href="/palette.css"><link rel="stylesheet" href="/style.css">'
    f"{_script(-1)}<main><h1>The catalogue has errors</h1>"
    "<p>The site follows when they are gone.</p></main>"
)
"""In place of the front page, as long as the catalogue had no good state."""


class Server(ThreadingHTTPServer):
    """Serves a preview on one address.

    Parameters
    ----------
    preview : what is shown.
    host, port : where; port 0 is any that is free.
    """

    daemon_threads = True

    def __init__(self, preview: Preview, host: str, port: int) -> None:
        self.preview = preview
        super().__init__((host, port), _Handler)
        self.hosts = LOCAL if host in LOCAL else None

    @property
    def address(self) -> str:
        """What to open in a browser."""
        host, port = self.server_address[:2]
        return f"http://{'localhost' if host in LOCAL else str(host)}:{port}/"

    def watch(self) -> None:
        """Serve, and look at the files, until the program ends."""
        threading.Thread(target=self.serve_forever, daemon=True).start()
        changed = 0.0
        while True:
            if self.preview.look():
                changed = time.monotonic()
            elif changed and time.monotonic() - changed > QUIET:
                # The site before is in cycles; looking for them may not delay the page.
                gc.collect()
                changed = 0.0
            time.sleep(LOOK_EVERY)


class _Handler(BaseHTTPRequestHandler):
    server: Server
    protocol_version = "HTTP/1.1"
    disable_nagle_algorithm = True
    """Head and content are sent apart: without this the content waits 40 ms to be acknowledged."""

    def do_GET(self) -> None:
        """Answer with a file, or with the next state."""
        if self.server.hosts is not None and not self._is_local():
            # A page from elsewhere that a name leads here must not read the catalogue.
            self._send(421, b"Only for this computer.\n", "text/plain")
            return
        address = urlsplit(self.path)
        path = unquote(address.path).lstrip("/")
        if path == STATE:
            since = parse_qs(address.query).get("since", ["-1"])[0]
            state = self.server.preview.wait_for_change(int(since) if since.isdigit() else -1)
            self._send(200, json.dumps(state).encode(), TYPES[".json"])
            return
        if not path or path.endswith("/"):
            path += "index.html"
        content = self.server.preview.file(path)
        kind = TYPES.get(Path(path).suffix, "application/octet-stream")
        if content is None:
            self._send(404, b"The site has no such file.\n", "text/plain")
        else:
            self._send(200, content, kind)

    def _is_local(self) -> bool:
        host = self.headers.get("Host", "")
        return host.rpartition(":")[0] in LOCAL or host in LOCAL

    def _send(self, status: int, content: bytes, kind: str) -> None:
        try:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(content)))
            self.send_header("Cache-Control", "no-store")
            self.end_headers()
            self.wfile.write(content)
        except (BrokenPipeError, ConnectionResetError):
            self.close_connection = True

    def log_message(self, *_: object) -> None:
        """Nothing: what a browser asks for is of no interest to an author."""
