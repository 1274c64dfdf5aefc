"""Handouts as PDF, through a Chromium or Chrome that is on the machine.

The browser runs without a window, in a folder of its own that is thrown away, and asks nothing of
any network. A page is printed from the folder in which the site is being put together, so that the
PDFs are part of it when it takes the old site's place.
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

from sitegen.catalogue.read import Reading

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
"""So long one handout may take."""

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
"""When a PDF was made (ISO 32000-1, 7.9.4), as the browser writes it."""
ELEMENT = re.compile(rb"\(node([0-9]{8})\)")
"""The name of an element of the document, counted from anywhere."""
UTC = b"+00'00'"


class NotPrinted(Exception):
    """No PDF came out; the message says why, and how to print by hand."""


def find_browser(named: str | None = None) -> str:
    """The command of a Chromium or Chrome.

    Parameters
    ----------
    named : the command that the user has named, if any.

    Raises
    ------
    NotPrinted : when there is none.
    """
    if named:
        found = shutil.which(named)
        if found is None:
            raise NotPrinted(
                f"there is no browser {named}. Name a Chromium or Chrome with --browser or"
                f" SITEGEN_BROWSER. {BY_HAND}"
            )
        return found
    for candidate in BROWSERS:
        found = shutil.which(candidate)
        if found is not None:
            return found
    raise NotPrinted(
        "no Chromium or Chrome was found. Install one, or name it with --browser or"
        f" SITEGEN_BROWSER. {BY_HAND}"
    )


class Printer:
    """Prints a site's handouts when its files are written; for `put_in_place`."""

    def __init__(
        self, pages: Sequence[str], reading: Reading, browser: str | None, width: int
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
    made : the day that the PDFs bear, so that the same catalogue gives the same bytes.
    width : how many browsers may run at once.
    seconds : so long one page may take.

    Returns
    -------
    (path, content) of each PDF, beside its page.

    Raises
    ------
    NotPrinted : when any of them does not come out.
    """
    with ThreadPoolExecutor(max(1, width)) as several:
        printed = list(several.map(lambda p: _print(folder / p, browser, seconds), pages))
    stamp = made.strftime("%Y%m%d000000").encode()
    return [
        (PurePosixPath(page).with_suffix(".pdf").as_posix(), _settled(content, stamp))
        for page, content in zip(pages, printed, strict=True)
    ]


def _settled(content: bytes, stamp: bytes) -> bytes:
    """A PDF without what differs from run to run: when it was made, and where counting began.

    Everything keeps its length, so that the table of places at the end holds.
    """
    content = MADE.sub(
        lambda found: (
            found[1] + stamp + (b"Z" if found[2] == b"Z" else UTC[: len(found[2])]) + b")"
        ),
        content,
    )
    first = min((int(number) for number in ELEMENT.findall(content)), default=0)
    return ELEMENT.sub(lambda found: b"(node%08d)" % (int(found[1]) - first), content)


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
        raise NotPrinted(f"{browser} ran, and left no PDF of {page.name}. {BY_HAND}")
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
    """End a browser with all of its helpers, which have its process group."""
    try:
        if hasattr(os, "killpg"):
            os.killpg(running.pid, signal.SIGKILL)
        else:
            running.kill()
    except (ProcessLookupError, PermissionError):
        pass  # it has ended by itself
    running.wait()
