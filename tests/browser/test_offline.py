"""The site from a web host: kept on the device, shown without a network, renewed as a whole."""

from __future__ import annotations

import functools
import http.server
import json
import mimetypes
import re
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page

from sitegen.output.offline import HASH_DIGITS, file_entry
from tests.browser.conftest import PHONE
from tests.browser.icons import SIZES, drawn

FAILURE = "block-1/failure-forward.html"


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


class Guarded(Quiet):
    """Gives every file only to a browser that has logged in."""

    def do_GET(self) -> None:
        if "session=open" in self.headers.get("Cookie", ""):
            super().do_GET()
        else:
            self.send_error(403)


class Host:
    """A web host that can be switched off."""

    def __init__(self, folder: Path, kind: type[Quiet] = Quiet) -> None:
        self.folder = folder
        handler = functools.partial(kind, directory=str(folder))
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
        self.address = f"http://localhost:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


@pytest.fixture
def host(site: Path, tmp_path: Path) -> Iterator[Host]:
    folder = tmp_path / "web"
    shutil.copytree(site, folder, ignore=shutil.ignore_patterns("block-2", "block-3"))
    started = Host(folder)
    yield started
    started.stop()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(viewport=PHONE)
    yield made
    made.close()


def until_kept(page: Page) -> None:
    page.wait_for_selector(".kept-line:has-text('Kept on this device,')", timeout=120_000)


def keep(page: Page) -> None:
    """Say yes to what the page offers."""
    page.click(".newer button:has-text('Keep this airframe on the device')")
    until_kept(page)


def revise(folder: Path, airframe: str = "block-1") -> None:
    """Let the host have another revision: one page and the shared style are other ones."""
    changed = {
        FAILURE: (folder / FAILURE).read_text(encoding="utf-8").replace("Forward", "FORWARD"),
        "style.css": (folder / "style.css").read_text(encoding="utf-8") + "/* of revision 9 */\n",
    }
    path = folder / airframe / "files.json"
    holds = json.loads(path.read_text(encoding="utf-8"))
    for name, text in changed.items():
        (folder / name).write_text(text, encoding="utf-8")
        (line,) = (line for line in holds["files"] if line[0] == name)
        line[1] = file_entry(name, text).digest
    holds["revision"], holds["says"] = "9" * HASH_DIGITS, "revision 9 of 1 Dec 2026"
    path.write_text(json.dumps(holds), encoding="utf-8")


def test_an_airframe_that_was_opened_works_with_the_network_cut(
    host: Host, context: BrowserContext
) -> None:
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: complaints.append(str(e)))
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    assert "revision 8 of 28 Nov 2026" in page.inner_text(".kept-line")
    assert re.search(r" \d\u00a0MB", page.inner_text(".kept-line"))
    host.server.shutdown()
    context.set_offline(True)
    page.reload()
    assert page.inner_text("h1 .name") == "Forward bus"
    page.click(".strip .find")
    page.fill(".find-box input", "right wall b7")
    page.wait_for_selector(".find-box .results a:has-text('ICE DET')")
    page.keyboard.press("Enter")
    page.wait_for_selector("h1:has-text('Right side wall panel')")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != "rgba(0, 0, 0, 0)"
    page.goto(f"{host.address}/block-1/")
    page.wait_for_selector(".page-front")
    page.goto(f"{host.address}/")
    page.wait_for_selector(".page-fleet")
    another = context.new_page()
    another.goto(f"{host.address}/{FAILURE}")
    until_kept(another)
    assert complaints == []


def test_what_is_kept_takes_a_fifth_of_the_room_and_is_read_as_it_was(
    host: Host, context: BrowserContext
) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    room = page.evaluate("navigator.storage.estimate().then(e => e.usage)")
    whole = json.loads((host.folder / "block-1/files.json").read_text(encoding="utf-8"))["bytes"]
    assert whole / 6 < room < whole / 4
    assert room < 9_000_000
    context.set_offline(True)
    for name in (FAILURE, "block-1/loads.csv", "style.css", "icon-192.png"):
        kind, inside = page.evaluate(
            "async address => { const there = await fetch(address);"
            " return [there.headers.get('Content-Type'),"
            " Array.from(new Uint8Array(await there.arrayBuffer()))]; }",
            f"{host.address}/{name}",
        )
        assert bytes(inside) == (host.folder / name).read_bytes(), name
        assert kind.startswith(mimetypes.guess_type(name)[0]), name


def test_nothing_is_kept_unasked_and_what_is_not_kept_says_so_without_a_network(
    host: Host, context: BrowserContext
) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    page.wait_for_selector(".newer button:has-text('Keep this airframe on the device, 2')")
    assert page.evaluate("async () => (await caches.keys()).filter(n => n.includes('@'))") == []
    page.click(".newer button:has-text('Not now')")
    assert page.locator(".newer").count() == 0
    page.reload()
    page.wait_for_selector(".kept-line:has-text('it needs the network')")
    assert page.locator(".newer").count() == 0
    host.server.shutdown()
    context.set_offline(True)
    page.goto(f"{host.address}/block-1/bus-aft.html")
    assert "Not kept on this device" in page.inner_text("h1")


def test_a_page_of_a_kept_airframe_never_says_that_it_is_not_kept(
    host: Host, context: BrowserContext
) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    page.add_init_script(
        "addEventListener('DOMContentLoaded', () => new MutationObserver(() => {"
        " if (/Not kept/.test(document.body.textContent)) document.title = 'said'; })"
        ".observe(document.body, { childList: true, subtree: true, characterData: true }))"
    )
    page.reload()
    until_kept(page)
    assert page.title() != "said"


def test_a_newer_revision_comes_whole_and_when_it_is_asked_for(
    host: Host, context: BrowserContext
) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    revise(host.folder)
    page.reload()
    page.wait_for_selector(".newer:has-text('revision 9 of 1 Dec 2026')")
    # The old one is shown, all of it, until then.
    assert page.inner_text("h1 .name") == "Forward bus"
    assert "revision 8 of 28 Nov 2026" in page.inner_text(".newer")
    in_use = "async () => (await (await fetch('../style.css')).text()).includes('of revision 9')"
    assert page.evaluate(in_use) is False
    page.click(".newer button")
    page.wait_for_selector("h1:has-text('FORWARD')")
    until_kept(page)
    assert page.evaluate(in_use) is True
    assert "revision 9" in page.inner_text(".kept-line")
    kept = page.evaluate("async () => (await caches.keys()).filter(n => n.includes('@'))")
    assert [name.rpartition("@")[2] for name in kept] == ["9" * HASH_DIGITS]


def test_a_newer_revision_is_shown_when_the_site_is_opened_anew(
    host: Host, context: BrowserContext
) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    revise(host.folder)
    page.reload()
    page.wait_for_selector(".newer")
    page.close()
    again = context.new_page()
    again.goto(f"{host.address}/{FAILURE}")
    assert again.inner_text("h1 .name").startswith("FORWARD")


def test_a_revision_that_changes_while_it_is_copied_is_not_kept(
    host: Host, context: BrowserContext
) -> None:
    """One file that is not what the list says, and nothing of the copy is shown."""
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    revise(host.folder)
    (host.folder / "site.js").write_text("// half a file", encoding="utf-8")
    path = host.folder / "block-1" / "files.json"
    holds = json.loads(path.read_text(encoding="utf-8"))
    for line in holds["files"]:
        if line[0] == "site.js":
            line[1] = "0" * HASH_DIGITS
    path.write_text(json.dumps(holds), encoding="utf-8")
    page.reload()
    ended = page.evaluate(
        """() => new Promise(done => navigator.serviceWorker.addEventListener('message', event => {
          if (/stopped|newer/.test(event.data.state)) done(event.data);
        }))"""
    )
    assert (ended["state"], ended.get("why")) == ("stopped", "changed")
    assert page.locator(".newer").count() == 0
    assert page.inner_text("h1 .name") == "Forward bus"
    assert "revision 8" in page.inner_text(".kept-line")
    kept = page.evaluate("async () => (await caches.keys()).filter(n => n.includes('@'))")
    assert len(kept) == 1
    assert not kept[0].endswith("9" * HASH_DIGITS)


def test_what_is_kept_can_be_removed_and_stays_removed(host: Host, context: BrowserContext) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/{FAILURE}")
    keep(page)
    page.click(".strip .set")
    page.click("text=Remove from the device")
    page.wait_for_selector(".kept-here:has-text('it needs the network')")
    assert page.evaluate("async () => (await caches.keys()).filter(n => n.includes('@'))") == []
    page.reload()
    page.wait_for_selector(".kept-line:has-text('it needs the network')")
    page.click(".strip .set")
    page.click("text=Keep this airframe on the device")
    until_kept(page)


def test_the_home_screen_has_a_name_and_icons(host: Host, context: BrowserContext) -> None:
    page = context.new_page()
    page.goto(f"{host.address}/block-1/index.html")
    href = page.wait_for_selector("link[rel=manifest]", state="attached").get_attribute("href")
    assert href == f"{host.address}/manifest.json"
    manifest = json.loads((host.folder / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["short_name"] == "Tarn 19"
    assert manifest["display"] == "standalone"
    assert (host.folder / manifest["start_url"]).is_file()
    for icon in manifest["icons"]:
        assert (host.folder / icon["src"]).is_file()


def test_a_host_with_a_login_gives_a_reader_with_a_session_all_that_is_kept(
    site: Path, context: BrowserContext
) -> None:
    started = Host(site, Guarded)
    context.add_cookies([{"name": "session", "value": "open", "url": started.address}])
    page = context.new_page()
    page.goto(f"{started.address}/{FAILURE}")
    page.wait_for_selector("link[rel=manifest]", state="attached")
    manifest = context.new_cdp_session(page).send("Page.getAppManifest")
    assert "Tarn 19" in manifest.get("data", "")
    keep(page)
    started.stop()


@pytest.mark.parametrize("size", SIZES)
def test_the_icons_are_the_drawing_s(site: Path, size: int) -> None:
    with Image.open(site / f"icon-{size}.png") as icon:
        assert icon.convert("RGB").tobytes() == drawn(size).tobytes()


def test_every_file_that_a_page_needs_is_in_its_list(site: Path) -> None:
    for airframe in ("block-1", "block-2", "block-3"):
        holds = json.loads((site / airframe / "files.json").read_text(encoding="utf-8"))
        listed = dict(holds["files"])
        there = {
            path.relative_to(site).as_posix(): file_entry("", path.read_bytes()).digest
            for path in site.rglob("*")
            if path.is_file() and path.name not in ("files.json", "sw.js", ".made-by-sitegen")
        }
        own = {p: d for p, d in there.items() if "/" not in p or p.startswith(f"{airframe}/")}
        assert listed == own
        assert holds["bytes"] == sum((site / path).stat().st_size for path in own)


def test_from_a_folder_nothing_of_this_is_tried(browser: Browser, site: Path) -> None:
    page = browser.new_page()
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text))
    page.on("pageerror", lambda e: complaints.append(str(e)))
    page.goto((site / FAILURE).as_uri())
    page.wait_for_timeout(300)
    assert complaints == []
    assert page.locator("script.offline, link[rel=manifest], .kept-line").count() == 0
    page.close()
