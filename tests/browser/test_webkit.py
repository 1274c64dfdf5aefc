"""The site in WebKit, the only engine on half of all phones: its main paths and its own solver.

Debian's WebKitGTK is driven through its WebDriver on a virtual screen; `tests/run` installs both.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from selenium.common.exceptions import NoSuchFrameException, StaleElementReferenceException
from selenium.webdriver import Remote
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.webkitgtk.options import Options

from sitegen.answers.drop import drop
from sitegen.answers.observations import Observation
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Then
from sitegen.solver.network import Network
from tests.engine.comparison import DEMO, Comparison
from tests.engine.figures import same_figures
from tests.engine.v8 import ASK, Engine

PROGRAMS = {"WebKitWebDriver": "webkit2gtk-driver", "Xvfb": "xvfb"}
"""By program, Debian's package with it."""

PATIENCE = 10.0
"""Seconds after which what a page does not show is not coming."""

SCENARIOS = 2000
FIGURED = 60
"""Scenarios of which the figures are compared too."""


class Browser:
    """A WebKit window of a phone's width."""

    def __init__(self, driver: Remote) -> None:
        self.driver = driver

    def open(self, path: Path, anchor: str = "") -> None:
        address = path.as_uri() + (f"#{anchor}" if anchor else "")
        # From another page, since a new anchor alone loads nothing.
        self.driver.get("about:blank")
        self.driver.get(address)
        # The blank page has no storage that a script may read.
        self.until("location.protocol === 'file:'")
        # A condition that another test has chosen is remembered.
        if self.run("const any = sessionStorage.length; sessionStorage.clear(); return any"):
            self.driver.get("about:blank")
            self.driver.get(address)

    def run(self, script: str, *arguments: Any) -> Any:
        return self.driver.execute_script(script, *arguments)

    def until(self, expression: str) -> Any:
        """What this expression is in the page as soon as it is something."""
        end = time.monotonic() + PATIENCE
        while True:
            try:
                found = self.run(f"return {expression};")
            except (StaleElementReferenceException, NoSuchFrameException):
                # Made anew between the finding and the handing over, or the page was being left
                # for the next one while it was asked: asked again at once.
                found = None
            if found:
                return found
            assert time.monotonic() < end, f"never came: {expression}"
            time.sleep(0.02)

    def element(self, selector: str, text: str = "") -> WebElement:
        """The first visible element of a selector that has a text in it."""
        found: WebElement = self.until(
            f"[...document.querySelectorAll({json.dumps(selector)})].find(e =>"
            f" e.textContent.includes({json.dumps(text)}) && e.checkVisibility())"
        )
        return found

    def tap(self, selector: str, text: str = "") -> None:
        for again in (True, True, False):
            try:
                element = self.element(selector, text)
                self.run("arguments[0].scrollIntoView({ block: 'center' })", element)
                element.click()
            except StaleElementReferenceException:
                # A list that is made anew while a search goes on: a person taps again.
                if not again:
                    raise
            else:
                return

    def choose(self, view: int) -> None:
        """Choose a condition; where the window is narrow their menu is folded."""
        if self.run("return document.querySelector('.conditions > summary').checkVisibility()"):
            self.tap(".conditions > summary")
        self.tap(f".menu label[for=view-{view}]")

    def tap_part(self, part: str) -> None:
        """A tap on a part of the drawing, wherever in it."""
        self.run(
            "document.querySelector(arguments[0]).dispatchEvent("
            "new MouseEvent('click', { bubbles: true, cancelable: true }))",
            f"svg.diagram [data-part={part}]:not(.wire)",
        )

    def type(self, selector: str, *keys: str) -> None:
        self.element(selector).send_keys(*keys)

    def text(self, selector: str) -> str:
        return self.element(selector).text

    def anchor(self) -> str:
        return str(self.run("return location.hash"))

    def count(self, selector: str) -> int:
        return len(self.driver.find_elements(By.CSS_SELECTOR, selector))

    def states(self, part: str) -> set[str]:
        """How a part of the live drawing is shown."""
        classes: list[str] = self.until(
            f"[...document.querySelectorAll('svg.diagram [data-part={part}]:not(.wire)')]"
            ".flatMap(e => [...e.classList])"
        )
        return {c for c in classes if c.startswith("state-")}


class PageEngine(Engine):
    """The engine that the page which is open has loaded."""

    def __init__(self, browser: Browser, network: Network) -> None:
        self.browser = browser

    def call(self, name: str, *arguments: Any) -> Any:
        script = (
            "const live = airframe, net = window.netOfTest ??= engine.load(live.wiring);"
            f"{ASK} return {name}(...JSON.parse(arguments[0]));"
        )
        return json.loads(self.browser.run(script, json.dumps(arguments)))


@pytest.fixture(scope="session")
def webkit() -> Iterator[Browser]:
    missing = [package for program, package in PROGRAMS.items() if not shutil.which(program)]
    if missing:
        message = f"not on this machine: {' and '.join(missing)}"
        if shutil.which("apt-get"):
            pytest.fail(f"{message}; tests/run installs it")
        pytest.skip(f"{message}, and there is no apt-get to install it with")
    started: list[subprocess.Popen[bytes]] = []
    try:
        driver = start(started)
        driver.set_window_size(400, 780)
        driver.set_script_timeout(60)
        yield Browser(driver)
        driver.quit()
    finally:
        # The windows and their helpers are of the driver's group.
        for process in reversed(started):
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def start(started: list[subprocess.Popen[bytes]]) -> Remote:
    """A window on a screen of its own; the processes are added to `started`."""
    reading, writing = os.pipe()
    screen = [
        "Xvfb",
        "-displayfd",
        str(writing),
        "-screen",
        "0",
        "1400x1000x24",
        "-nolisten",
        "tcp",
    ]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "start_new_session": True}
    started.append(subprocess.Popen(screen, pass_fds=[writing], **quiet))
    os.close(writing)
    with os.fdopen(reading) as pipe:
        display = pipe.readline().strip()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    surroundings = {**os.environ, "DISPLAY": f":{display}", "GDK_BACKEND": "x11"}
    started.append(
        subprocess.Popen(["WebKitWebDriver", f"--port={port}"], env=surroundings, **quiet)
    )
    end = time.monotonic() + PATIENCE
    while True:
        try:
            socket.create_connection(("127.0.0.1", port)).close()
            break
        except OSError:
            assert time.monotonic() < end, "WebKitWebDriver does not start"
            time.sleep(0.05)
    here = ClientConfig(remote_server_addr=f"http://127.0.0.1:{port}")
    return Remote(RemoteConnection(client_config=here), options=Options())


@pytest.fixture
def folder(site: Path) -> Path:
    return site / "block-1"


def test_the_front_page_leads_to_an_airframe_and_a_failure(webkit: Browser, site: Path) -> None:
    webkit.open(site / "index.html")
    webkit.tap("main a[href^='block-1/']")
    webkit.until("location.pathname.includes('/block-1/')")
    webkit.open(site / "block-1" / "index.html")
    webkit.tap(".page-links a", "What do I lose?")
    webkit.tap("a[href='failure-forward.html']")
    webkit.element(".page-failure h1", "Forward bus")


def test_the_finder_leads_to_a_breaker(webkit: Browser, folder: Path) -> None:
    webkit.open(folder / "index.html")
    webkit.tap(".strip .find")
    webkit.type(".find-box input", "wall right b7")
    webkit.element(".find-box .results a", "ICE DET")
    webkit.type(".find-box input", Keys.ENTER)
    webkit.element("h1", "Right side wall panel")


def test_a_failure_in_another_condition(webkit: Browser, folder: Path) -> None:
    webkit.open(folder / "failure-forward.html")
    answer = webkit.text("#answer")
    assert f"{len(drop(DEMO[0], 'cruise', [('forward', 'dead')]).lost)}" in answer
    assert webkit.states("forward") == {"state-failed"}
    before = webkit.states("essential")
    webkit.choose(4)
    assert webkit.text("#answer") != answer
    assert webkit.anchor() == "#view-4"
    assert webkit.states("essential") != before
    webkit.tap("a[href^='bus-forward.html']")
    webkit.element(".page-bus h1", "Forward bus")
    # The chosen condition stays.
    assert webkit.anchor() == "#view-4"


@pytest.mark.parametrize(
    ("page", "part"),
    [
        ("bus-forward.html", "forward"),
        ("equipment-beacon-upper.html", "aft"),
        ("function-attitude.html", "essential"),
        ("overview.html", "forward"),
        ("loads.html", "gen-1"),
    ],
)
def test_the_drawing_lives_on_each_kind_of_page(
    webkit: Browser, folder: Path, page: str, part: str
) -> None:
    webkit.open(folder / page)
    assert webkit.states(part) == {"state-live"}
    assert webkit.run("return document.documentElement.scrollWidth <= innerWidth")


def test_the_table_for_troubleshooting(webkit: Browser, folder: Path) -> None:
    webkit.open(folder / "which-failed.html")
    webkit.choose(4)
    webkit.tap(".v4 .branch:nth-of-type(2) > summary")
    assert webkit.text(".v4 .branch[open]")
    assert not webkit.run("return document.querySelector('.v0').checkVisibility()")


def test_a_question_is_answered(webkit: Browser, folder: Path) -> None:
    webkit.open(folder / "practise.html")
    right = webkit.until("document.querySelector('.ask.now')?.dataset.right")
    webkit.run(
        "document.querySelectorAll('.ask.now .choices button')[arguments[0]].click()", int(right)
    )
    assert webkit.text(".ask.now .verdict") == "Right."
    webkit.tap(".go-on")
    assert webkit.text(".score").startswith("1 of 1 right at once")


def test_on_the_board_parts_are_failed_and_breakers_pulled(webkit: Browser, folder: Path) -> None:
    network = DEMO[0]
    webkit.open(folder / "board.html", "c=cruise")
    assert webkit.text(".board-answer .first") == "Nothing has failed"
    webkit.tap_part("aft")
    webkit.tap(".board-part button", "Dead")
    lost = drop(network, "cruise", [("aft", "dead")]).lost
    assert webkit.text(".board-answer .first") == f"{len(lost)} lost"
    assert webkit.states("aft") == {"state-failed"}
    webkit.tap("#board-find summary")
    webkit.type("#board-find input", network.components["cb-beacons"].name)
    webkit.tap("#board-find li button", "breaker")
    webkit.tap(".board-part button", "Pulled")
    # The address is written once the answer has been painted.
    webkit.until("location.hash === '#c=cruise&f=aft:dead&p=cb-beacons'")
    pulled = drop(network, "cruise", [("aft", "dead")], Then(pulled=["cb-beacons"]))
    assert webkit.text(".board-answer .first").startswith(f"{len(pulled.lost)} lost")
    webkit.tap(".board-bar button", "Undo")
    webkit.until("location.hash === '#c=cruise&f=aft:dead'")
    webkit.tap(".board-bar button", "Clear")
    assert webkit.text(".board-answer .first") == "Nothing has failed"


def test_on_the_board_a_switch_is_set(webkit: Browser, folder: Path) -> None:
    network = DEMO[0]
    switch = network.catalogue.switches[0]
    cruise = next(c for c in network.catalogue.conditions if c.id == "cruise")
    now = cruise.switches.get(switch.id, switch.positions[0])
    other = next(place for place in switch.positions if place != now)
    webkit.open(folder / "board.html", "c=cruise")
    webkit.tap("#board-find summary")
    webkit.type("#board-find input", switch.name)
    webkit.tap("#board-find li button", "switch")
    webkit.tap(".board-part button", other)
    assert f"{switch.name}: {other}" in webkit.text(".set-list")
    webkit.until(f"location.hash.includes('{switch.id}')")


def test_a_link_to_the_board_opens_its_state(webkit: Browser, folder: Path) -> None:
    webkit.open(folder / "board.html", "c=cruise&f=forward:shorted&a=dip")
    lost = drop(DEMO[0], "cruise", [("forward", "shorted")], None, True).lost
    assert webkit.text(".board-answer .first").startswith(f"{len(lost)} lost")


def test_what_is_seen_is_diagnosed(webkit: Browser, folder: Path) -> None:
    network = DEMO[0]
    webkit.open(folder / "diagnose.html", "c=cruise")
    webkit.type(".inputs input", "essential bus")
    webkit.tap(".found button", "dead")
    assert webkit.text(".set-list").startswith("Essential bus: dead")
    dead = Observation("essential", "dead")
    found = troubleshoot(network, "cruise", [dead], order=1).candidates
    causes = {frozenset(failed) for failed in found if len(failed) == 1}
    webkit.element(".results .first", f"{len(causes)} single failures explain it")
    webkit.until("document.querySelector('.diagnose [role=status]').textContent")
    webkit.tap(".causes button", "Essential bus dead")
    assert webkit.states("essential") == {"state-failed"}
    webkit.tap(".lamps button", network.catalogue.indications[-1].name)
    assert webkit.count(".lamp.read") == 1
    webkit.tap(".board-bar button", "Undo")
    assert webkit.anchor() == "#c=cruise&o=essential%3Adead"


def test_the_pocket_edition_has_all_of_it(webkit: Browser, pocket: Path) -> None:
    webkit.open(pocket)
    webkit.element(".page-front h1")
    webkit.run("location.hash = '#failure-forward.html'")
    webkit.element(".page-failure h1", "Forward bus")
    assert webkit.states("forward") == {"state-failed"}
    webkit.open(pocket, "board.html/c=cruise&f=aft:dead")
    lost = drop(DEMO[0], "cruise", [("aft", "dead")]).lost
    webkit.element(".board-answer .first", f"{len(lost)} lost")
    webkit.open(pocket, "diagnose.html/c=cruise&o=beacon-upper:dead")
    webkit.element(".results .first", "explain")


def test_the_solver_in_webkit_is_the_solver(webkit: Browser, site: Path) -> None:
    for network in DEMO:
        webkit.open(site / network.airframe / "board.html")
        webkit.element(".board-answer .first")
        compared = Comparison(network, partial(PageEngine, webkit))
        chance = random.Random(f"webkit {network.airframe}")
        crews = [None, *(then for f in network.catalogue.failures for _, then in f.crew_fields)]
        each = -(-SCENARIOS // (2 * len(DEMO) * len(crews)))
        figured = -(-FIGURED // (len(DEMO) * len(crews)))
        for then in crews:
            scenarios = compared.random_sets(chance, each)
            compared.same(scenarios, then)
            same_figures(compared, scenarios[:figured], then)
        assert compared.counts["scenarios"] >= SCENARIOS / len(DEMO)
        assert compared.counts["openings"]
        assert compared.counts["stalls"]
