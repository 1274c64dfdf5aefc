"""Handouts as PDF, through a Chromium or Chrome that is on the machine.

The browser runs without a window, in a temporary profile, and without a network. A page is printed
from the folder in which the new site is being written, so that the PDFs are part of it when it
replaces the old one.
"""

from __future__ import annotations

import datetime
import os
import re
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path, PurePosixPath

from sitegen.catalogue.read import ReadResult

BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
)
"""Where a browser is looked for, in this order."""

EPOCH = datetime.date(1970, 1, 1)

SECONDS = 120
"""The longest that one handout may take."""

SETTINGS = (
    "--headless",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-extensions",
    "--disable-background-networking",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--no-pdf-header-footer",
    "--export-tagged-pdf",
    "--generate-pdf-document-outline",
)

BY_HAND = (
    "Or open a handout in any browser and print it to a file, with background graphics, and without"
    " the browser's own headers and footers."
)

MADE = re.compile(rb"(/(?:CreationDate|ModDate) ?\(D:)[0-9]{14}(Z|[-+][0-9']{6}|)\)")
"""The date of a PDF (ISO 32000-1, 7.9.4), as the browser writes it."""
ELEMENT = re.compile(rb"\(node([0-9]{8})\)")
"""The name of an element of the document; the numbers start anywhere."""
UTC = b"+00'00'"


class NotPrinted(Exception):
    """No PDF came out; the message says why, and how to print by hand."""


def find_browser(named: str | None = None) -> str:
    """The command of a Chromium or Chrome.

    Parameters
    ----------
    named : the command that the user gave, if any.

    Raises
    ------
    NotPrinted : there is none.
    """
    command = next(filter(None, map(shutil.which, [named] if named else BROWSERS)), None)
    if command is None:
        problem = "no Chromium or Chrome was found. Install one, or name it"
        if named:
            problem = f"there is no browser {named}. Name a Chromium or Chrome"
        raise NotPrinted(f"{problem} with --browser or SITEGEN_BROWSER. {BY_HAND}")
    return command


class Printer:
    """Prints a site's handouts when its files are written; for `write_site`."""

    def __init__(
        self, pages: Sequence[str], reading: ReadResult, browser: str | None, width: int
    ) -> None:
        self.pages, self.browser, self.width = pages, browser, width
        self.made = reading.catalogue.aircraft.revised if reading.catalogue else EPOCH
        self.problem = ""
        """Why there are no PDFs; empty if there are."""

    def __call__(self, folder: Path) -> list[tuple[str, str | bytes]]:
        """The PDFs, all or none of them."""
        try:
            command = find_browser(self.browser)
            return [*print_pages(folder, self.pages, command, self.made, self.width)]
        except NotPrinted as reason:
            self.problem = str(reason)
            return []


def print_pages(
    folder: Path,
    pages: Sequence[str],
    browser: str,
    made: datetime.date,
    width: int = 1,
    seconds: float = SECONDS,
) -> list[tuple[str, bytes]]:
    """Print pages of a site.

    Parameters
    ----------
    folder : where the site's files are.
    pages : paths below it, `block-1/handout.html`.
    browser : the command, from `find_browser`.
    made : the date written into the PDFs, so that the same catalogue gives the same bytes.
    width : how many browsers may run at once.
    seconds : the longest that one page may take.

    Returns
    -------
    (path, content) of each PDF, beside its page.

    Raises
    ------
    NotPrinted : one of them could not be printed.
    """
    with ThreadPoolExecutor(max(1, width)) as threads:
        printed = list(threads.map(lambda p: _print(folder / p, browser, seconds), pages))
    stamp = made.strftime("%Y%m%d000000").encode()
    return [
        (PurePosixPath(page).with_suffix(".pdf").as_posix(), _reproducible(content, stamp))
        for page, content in zip(pages, printed, strict=True)
    ]


def _reproducible(content: bytes, stamp: bytes) -> bytes:
    """A PDF without what differs from run to run: its date, and where its numbers start.

    Every part keeps its length, so that the cross-reference table at the end stays valid.
    """
    content = MADE.sub(
        lambda match: (
            match[1] + stamp + (b"Z" if match[2] == b"Z" else UTC[: len(match[2])]) + b")"
        ),
        content,
    )
    first = min((int(number) for number in ELEMENT.findall(content)), default=0)
    return ELEMENT.sub(lambda match: b"(node%08d)" % (int(match[1]) - first), content)


def _print(page: Path, browser: str, seconds: float) -> bytes:
    with tempfile.TemporaryDirectory(prefix="sitegen-", ignore_cleanup_errors=True) as own:
        out = Path(own) / "page.pdf"
        # A browser that runs as root, as in a container, cannot make its sandbox.
        as_root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        command = [
            browser,
            *SETTINGS,
            *as_root,
            f"--user-data-dir={Path(own) / 'profile'}",
            f"--print-to-pdf={out}",
            page.resolve().as_uri(),
        ]
        _run(command, page.name, seconds)
        content = out.read_bytes() if out.is_file() else b""
    if not content.startswith(b"%PDF-") or b"%%EOF" not in content[-64:]:
        raise NotPrinted(f"{browser} ran, but wrote no PDF of {page.name}. {BY_HAND}")
    return content


def _run(command: Sequence[str], name: str, seconds: float) -> None:
    browser = command[0]
    try:
        running = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError as error:
        reason = error.strerror or str(error)
        raise NotPrinted(f"{browser} could not be started: {reason}. {BY_HAND}") from None
    try:
        code = running.wait(seconds)
    except subprocess.TimeoutExpired:
        raise NotPrinted(
            f"{browser} took longer than {seconds:g} seconds over {name} and was stopped. {BY_HAND}"
        ) from None
    finally:
        _stop(running)
    if code:
        raise NotPrinted(f"{browser} failed over {name} (exit code {code}). {BY_HAND}")


def _stop(running: subprocess.Popen[bytes]) -> None:
    """End a browser and its child processes, which are in its process group."""
    try:
        if hasattr(os, "killpg"):
            os.killpg(running.pid, signal.SIGKILL)
        else:
            running.kill()
    except (ProcessLookupError, PermissionError):
        pass  # it has ended by itself
    running.wait()
