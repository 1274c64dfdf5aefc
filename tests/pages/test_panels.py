"""Panels: every breaker of the demo at its place, and small maps that mark what is lost.

What is expected is read from the demo's YAML and worked out by the plain solver; no code of the
package is asked where a breaker is or what it feeds.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from typing import Any, NamedTuple

import pytest
import yaml

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.device_ends import live_sides
from sitegen.answers.panel_plans import panel_plans
from sitegen.catalogue.read import read
from sitegen.pages import bus_page, equipment_page, failure_page, list_pages, panel_page
from sitegen.pages.a_to_z_page import entries
from sitegen.pages.drawings import draw_all
from sitegen.pages.fragments.names_and_rows import Fragments
from sitegen.pages.page_context import PageContext
from sitegen.pages.panel_page import PATTERNS, letters
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from tests import plain
from tests.pages.pages_sample import reading, sample

Raw = dict[str, Any]
AIRFRAMES = ("block-1", "block-2", "block-3")


@cache
def demo() -> Raw:
    """The demo's sections as YAML 1.1's plain loader gives them, but `on` and `off` as words."""

    class Loader(yaml.SafeLoader):
        pass

    Loader.yaml_implicit_resolvers = {
        letter: [(tag, pattern) for tag, pattern in found if tag != "tag:yaml.org,2002:bool"]
        for letter, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }
    Loader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("true|false"), list("tf"))
    sections: Raw = {}
    for file in sorted(demo_catalogue().glob("*.yaml")):
        for name, value in yaml.load(file.read_text(encoding="utf-8"), Loader).items():
            if isinstance(value, list):
                sections.setdefault(name, []).extend(value)
            else:
                sections[name] = value
    return sections


class Breaker(NamedTuple):
    """Something with a place, as the catalogue has it."""

    id: str
    name: str
    amps: float | None
    owner: str
    """The equipment in whose supply it is written; empty for a device of its own."""


Place = tuple[str, str]
"""A panel and a place on it, such as `A7`."""


def is_fitted(record: Raw, airframe: str) -> bool:
    return airframe in record.get("fitted-to", [airframe])


def breakers(airframe: str) -> dict[Place, Breaker]:
    found: dict[Place, Breaker] = {}
    for device in demo()["devices"]:
        if is_fitted(device, airframe) and "at" in device:
            one = Breaker(device["id"], device["name"], device.get("amps"), "")
            found[device["panel"], device["at"]] = one
    for owner in (*demo()["equipment"], *demo()["indications"]):
        supplies = owner.get("supplies", [])
        for number, supply in enumerate(supplies, 1):
            for kind in ("breaker", "fuse"):
                made = supply.get(kind)
                if not isinstance(made, dict) or "at" not in made:
                    continue
                if is_fitted(owner, airframe) and is_fitted(supply, airframe):
                    own = f"{owner['id']}.{kind}" + (f"-{number}" if len(supplies) > 1 else "")
                    one = Breaker(made.get("id", own), made["name"], made["amps"], owner["id"])
                    found[made["panel"], made["at"]] = one
    return found


def behind(airframe: str) -> dict[str, set[str]]:
    """By device the equipment that is supplied through it."""
    found: dict[str, set[str]] = {}
    for owner, supplies in plain.fitted(demo(), airframe)["supplies"].items():
        for _, through in supplies:
            for device in through:
                found.setdefault(device, set()).add(owner)
    return found


@cache
def context(airframe: str) -> PageContext:
    found = read(demo_catalogue())
    assert found.catalogue is not None
    return sheet_of(found, airframe)


def sheet_of(found: Any, airframe: str) -> PageContext:
    network = build(found.catalogue, airframe)
    (drawings,), _ = draw_all([network])
    return PageContext(AirframeAnswers(found, network), Fragments(network), drawings, {})


def made(pages: list[Any]) -> dict[str, str]:
    return {page.path.split("/")[1]: page.make() for page in pages}


class Table(HTMLParser):
    """What is in each place of a panel's page: (link, what a reader hears), None if empty."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.row, self.column, self.inside = "", 0, False
        self.places: dict[str, tuple[str, str] | None] = {}
        self.heading = False
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag == "tbody":
            self.inside = True
        if not self.inside:
            return
        if tag == "th":
            self.heading, self.column = True, 0
        if tag == "td":
            self.column += 1
            self.places[f"{self.row}{self.column}"] = None
        if tag == "a":
            here = f"{self.row}{self.column}"
            self.places[here] = (found["href"] or "", found["aria-label"] or "")

    def handle_endtag(self, tag: str) -> None:
        self.inside = self.inside and tag != "tbody"

    def handle_data(self, data: str) -> None:
        if self.heading:
            self.row, self.heading = data, False


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_every_breaker_of_the_demo_is_at_its_place_and_nowhere_else(airframe: str) -> None:
    expected = breakers(airframe)
    assert len(expected) > 150
    lamps_and_meters = {i["id"] for i in demo()["indications"]}
    pages = made(panel_page.PAGE.pages(context(airframe)))
    assert len(pages) == len(demo()["panels"])
    for one in demo()["panels"]:
        shown = Table(pages[f"panel-{one['id']}.html"]).places
        assert len(shown) == len(one["rows"]) * one["columns"]
        for at, holds in shown.items():
            breaker = expected.pop((one["id"], at), None)
            if breaker is None:
                assert holds is None, f"{one['id']} {at}"
                continue
            assert holds is not None, f"{one['id']} {at}: {breaker.name} is missing"
            href, says = holds
            assert says.startswith(f"{at}, {breaker.name}, {breaker.amps:g}\u00a0A"), says
            if breaker.owner in lamps_and_meters:
                assert href == f"indication-{breaker.owner}.html"
            elif breaker.owner:
                assert href == f"equipment-{breaker.owner}.html#supplies"
            else:
                assert href == f"failure-{breaker.id}.html"
    assert expected == {}


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_a_breaker_says_its_bus_and_a_shared_one_all_that_it_feeds(airframe: str) -> None:
    pages = made(panel_page.PAGE.pages(context(airframe)))
    names = {b["id"]: b["name"] for b in (*demo()["buses"], *demo()["sources"])}
    users = behind(airframe)
    supplies = plain.fitted(demo(), airframe)["supplies"]
    called = {e["id"]: e["name"] for e in (*demo()["equipment"], *demo()["indications"])}
    for (where, at), breaker in breakers(airframe).items():
        page = pages[f"panel-{where}.html"]
        buses = {
            bus
            for user in users.get(breaker.id, ())
            for bus, through in supplies[user]
            if breaker.id in through
        }
        holds = Table(page).places[at]
        assert holds is not None
        for one in buses:
            assert f", {names[one]}" in holds[1], (at, holds)
        row = re.search(rf'<li><a [^>]*><b class="at">{at}</b>.*?</li>(?=\n)', page, re.S)
        assert row, at
        for user in users.get(breaker.id, ()):
            assert f">{called[user]}<" in row[0], (at, user)


class Maps(HTMLParser):
    """The marks of a page's small maps: by kind, (panel, row and column from 1) with classes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.panel, self.views = "", ""
        self.marks: list[tuple[str, str, tuple[int, int], str, str]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        kinds = found.get("class", "").split()
        if tag == "a" and "map" in kinds:
            self.panel = found["href"].split(".")[0].removeprefix("panel-")
            self.views = " ".join(kinds[1:])
        if tag == "path" and kinds and kinds[0] in ("marked", "feeding", "failed"):
            for x, y in re.findall(r"M(\d+) (\d+)", found["d"]):
                # The first place's corner is at 5, and the next ones are 11 further on.
                column, beside = divmod(int(x) - 5, 11)
                row, below = divmod(int(y) - 5, 11)
                assert beside == below == 0
                place = (row, column + 1)
                self.marks.append((kinds[0], self.panel, place, " ".join(kinds[1:]), self.views))

    def in_view(self, view: int) -> dict[str, set[tuple[str, int, int]]]:
        found: dict[str, set[tuple[str, int, int]]] = {}
        for kind, where, place, own, around in self.marks:
            if all(not s or f"v{view}" in s.split() for s in (own, around)):
                found.setdefault(kind, set()).add((where, *place))
        return found


def spot(place: Place) -> tuple[str, int, int]:
    rows = next(p["rows"] for p in demo()["panels"] if p["id"] == place[0])
    return place[0], rows.index(place[1][0]), int(place[1][1:])


def spots(airframe: str, wanted: set[str]) -> set[tuple[str, int, int]]:
    return {spot(place) for place, b in breakers(airframe).items() if b.id in wanted}


@cache
def failure_texts(airframe: str) -> dict[str, Any]:
    return {
        p.path.split("/")[1]: p
        for p in (
            *failure_page.NAMED.pages(context(airframe)),
            *failure_page.SINGLE.pages(context(airframe)),
        )
    }


FAILURES = [
    ("block-1", "essential"),
    ("block-1", "cb-avionics-1"),
    ("block-1", "forward"),
    # The warning panel goes, the lamps behind the same breaker are no equipment.
    ("block-3", "essential"),
]


@pytest.mark.parametrize(("airframe", "component"), FAILURES)
def test_a_failure_marks_just_the_breakers_of_what_is_lost(airframe: str, component: str) -> None:
    page = failure_texts(airframe)[f"failure-{component}.html"].make()
    maps = Maps(page)
    conditions = [c["id"] for c in demo()["conditions"] if is_fitted(c, airframe)]
    modes = [mode for c, mode in plain.every_fault(demo(), airframe) if c == component]
    assert modes
    users, failed = behind(airframe), spots(airframe, {component})
    scenarios = [(mode, condition) for mode in modes for condition in conditions]
    before = {c: plain.settled_condition(demo(), c, airframe) for c in conditions}
    for view, (mode, condition) in enumerate(scenarios):
        failing = [(component, mode)]
        answer = plain.answer(demo(), condition, failing, None, airframe, before[condition])
        lost = set(answer["lost"])
        theirs = spots(airframe, {b for b, items in users.items() if items & lost}) - failed
        shown = maps.in_view(view)
        assert shown.get("marked", set()) == theirs, (mode, condition)
        assert shown.get("failed", set()) == failed


def may_feed(sections: Raw, run: Raw, bus: str) -> bool:
    """Whether power may come to a bus along this feeder: forth, or back from what has its own."""
    if run["to"] == bus:
        return True
    diodes = {d["id"] for d in sections["devices"] if d["kind"] == "diode"}
    if run["from"] != bus or diodes & set(run.get("through", [])):
        return False
    live = {s["id"] for s in sections["sources"]} - {bus}
    while True:
        more = set()
        for f in sections["feeders"]:
            ends = {f["from"], f["to"]}
            if bus not in ends and f["from"] in live:
                more.add(f["to"])
            elif bus not in ends and f["to"] in live and not diodes & set(f.get("through", [])):
                more.add(f["from"])
        if more <= live:
            return run["to"] in live
        live |= more


def row_at(page: str, at: str) -> str:
    """The words of a place in the list by place."""
    [row] = re.findall(rf'<li><a [^>]*><b class="at">{at}</b>.*?</li>(?=\n)', page)
    return " ".join(re.sub("<[^>]+>", " ", row).split())


ALWAYS_LIVE = "Live whenever a charged battery is fitted"


@pytest.mark.parametrize(
    ("panel", "at", "words"),
    [
        # Conductors alone join these to a battery: no switch turns that side off.
        (
            "battery-bay",
            "A1",
            rf"Main battery to \w Aft bus Main battery side Hazard: {ALWAYS_LIVE}",
        ),
        (
            "battery-bay",
            "A3",
            rf"Main battery to \w Essential bus Main .* side Hazard: {ALWAYS_LIVE}",
        ),
        ("pedestal", "A8", rf"Auxiliary battery to \w Standby bus .* side Hazard: {ALWAYS_LIVE}"),
        ("pedestal", "A5", r"\w Mid bus to Avionics bus 2$"),
        # Either end of a link of the ring feeds the other.
        ("aft-box", "A1", r"between \w Forward bus and Mid bus$"),
        ("aft-box", "A4", r"\w Forward bus to Left wall bus$"),
    ],
)
def test_a_device_in_a_feeder_names_both_ends_and_the_side_that_is_always_live(
    panel: str, at: str, words: str
) -> None:
    page = made(panel_page.PAGE.pages(context("block-3")))[f"panel-{panel}.html"]
    assert re.search(words, row_at(page, at)), row_at(page, at)
    holds = Table(page).places[at]
    assert holds is not None
    assert ("; hazard, " in holds[1]) == ("Hazard" in words)
    [cell] = [cell for cell in page.split("<td") if f"<small>{at}</small>" in cell]
    assert ("hazard-sign" in cell) == ("Hazard" in words)


def test_a_switch_between_ends_what_is_always_live() -> None:
    raw = sample()
    raw["devices"].append({"id": "cb-hot", "name": "HOT FEED", "kind": "breaker", "amps": 5})
    raw["devices"].append({"id": "cb-battery", "name": "BATT", "kind": "breaker", "amps": 5})
    raw["buses"][2]["hazard"] = "Always live."
    [feed] = [f for f in raw["feeders"] if f["from"] == "battery" and f["to"] == "essential"]
    feed["through"] = ["k-battery", "cb-battery"]
    raw["feeders"].append({"from": "hot", "to": "left", "through": ["cb-hot", "d-hot", "k-hot"]})
    raw["devices"] += [
        {"id": "d-hot", "name": "Hot diode", "kind": "diode"},
        {"id": "k-hot", "name": "Hot relay", "kind": "relay", "closes-when": {"live": ["hot"]}},
    ]
    catalogue = reading(raw).catalogue
    assert catalogue is not None
    found = live_sides(build(catalogue, "early"))
    assert {d: [(s.node, s.hazard) for s in each] for d, each in found.items()} == {
        "f-hot": [("battery", "Always live"), ("hot", "Always live")],
        "k-battery": [("battery", "Always live")],
        **{d: [("hot", "Always live")] for d in ("cb-hot", "d-hot", "k-hot")},
    }


@pytest.mark.parametrize(
    ("device", "line"),
    [
        ("cb-avionics-2", "35\u00a0A, Pedestal panel A5, Mid bus to Avionics bus 2"),
        ("fl-mid-aft", "275\u00a0A, Power distribution box A2, between Mid bus and Aft bus"),
        ("f-fire-bottles", "10\u00a0A, Battery bay fuse block B1, on Hot battery bus"),
        # No place is known.
        ("k-avionics", "50\u00a0A, Mid bus to Avionics bus 2, Essential bus to Avionics bus 1"),
    ],
)
def test_where_a_device_is_is_under_the_title_of_its_page(device: str, line: str) -> None:
    page = failure_texts("block-1")[f"failure-{device}.html"].make()
    [head] = re.findall("<hgroup>(.*?)</hgroup>", page, re.S)
    assert re.findall('</h1>\\s*<p class="also">(.*?)</p>', head) == [line]
    assert "<dt>Breaker</dt>" not in page
    assert "<dt>Place</dt>" not in page


def test_a_bus_marks_what_is_fed_from_it_and_what_feeds_it() -> None:
    airframe = "block-1"
    pages = made(bus_page.PAGE.pages(context(airframe)))
    sections = plain.fitted(demo(), airframe)
    for one in sections["buses"]:
        shown = Maps(pages[f"bus-{one['id']}.html"]).in_view(0)
        runs = sections["feeders"]
        feeding = {
            d for f in runs if may_feed(sections, f, one["id"]) for d in f.get("through", [])
        }
        on = {d for f in runs if f["from"] == one["id"] for d in f.get("through", [])}
        for source in sections["sources"]:
            feed = source.get("fed-from", [])
            for f in feed if isinstance(feed, list) else [feed]:
                if f["bus"] == one["id"]:
                    on |= set(f.get("through", []))
        for supplies in sections["supplies"].values():
            on |= {d for node, through in supplies if node == one["id"] for d in through}
        assert shown.get("feeding", set()) == spots(airframe, feeding), one["id"]
        assert shown.get("marked", set()) == spots(airframe, on - feeding), one["id"]


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_a_bus_lists_the_lamps_and_meters_that_have_their_power_from_it(airframe: str) -> None:
    pages = made(bus_page.PAGE.pages(context(airframe)))
    supplies = plain.fitted(demo(), airframe)["supplies"]
    by_id = {i["id"]: i for i in demo()["indications"]}
    found = 0
    for bus in plain.fitted(demo(), airframe)["buses"]:
        page = pages[f"bus-{bus['id']}.html"]
        [count] = re.findall("On this bus <small>(.*?)</small>", page)
        here = [i for i in by_id if any(on == bus["id"] for on, _ in supplies.get(i, ()))]
        lamps = sum(by_id[i]["kind"] == "lamp" for i in here)
        assert (f"{lamps} lamp" in count) == bool(lamps), (bus["id"], count)
        listed = page.partition("<h3>Meters, lamps and flags</h3>")[2].partition("</details>")[0]
        assert re.findall(r'href="indication-([\w-]+)\.html"', listed) == here
        found += len(here)
    assert found > 16


def test_equipment_shows_its_own_breakers_on_the_map() -> None:
    pages = {p.path: p for p in equipment_page.PAGE.pages(context("block-1"))}
    shown = Maps(pages["block-1/equipment-stall-warning.html"].make()).in_view(0)
    assert shown == {"marked": {("left-wall", 0, 3), ("left-wall", 2, 7)}}


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_no_two_buses_of_a_panel_share_a_letter_or_a_pattern(airframe: str) -> None:
    for text in made(panel_page.PAGE.pages(context(airframe))).values():
        keys = re.findall(r'<li class="p(\d+)".*?<i class="bus-letter">(\w+)<', text)
        assert keys
        assert len({k for k, _ in keys}) == len(keys) == len({letter for _, letter in keys})
        assert all(int(k) < PATTERNS for k, _ in keys)


def test_a_bus_has_the_same_letter_on_every_panel() -> None:
    found: dict[str, set[str]] = {}
    for text in made(panel_page.PAGE.pages(context("block-1"))).values():
        for anchor, letter in re.findall(r'id="bus-([\w-]+)".*?<i class="bus-letter">(\w+)<', text):
            found.setdefault(anchor, set()).add(letter)
    assert found
    assert all(len(each) == 1 for each in found.values())
    assert len(set().union(*found.values())) == len(found)


def test_two_buses_that_would_share_a_pattern_do_not_on_one_panel() -> None:
    # The sample's first bus has pattern 0; so would have the thirteenth.
    raw = sample()
    raw["buses"] += [{"id": f"extra-{i}", "name": f"Extra bus {i}"} for i in range(8)]
    assert raw["buses"][PATTERNS]["id"] == "extra-7"
    lamp = next(e for e in raw["equipment"] if e["id"] == "clock")
    lamp["supplies"][0]["bus"] = "extra-7"
    text = made(panel_page.PAGE.pages(sheet_of(reading(raw), "early")))["panel-pedestal.html"]
    found = re.findall(r'<li class="p(\d+)" id="bus-([\w-]+)"', text)
    assert {"left", "extra-7"} <= {bus for _, bus in found}
    assert len({pattern for pattern, _ in found}) == len(found)


def test_a_key_never_runs_out() -> None:
    keys = [letters(i) for i in range(100)]
    assert len(set(keys)) == 100
    assert keys[:2] == ["a", "b"]


def changed() -> Raw:
    """The sample, where radio 1's breaker has no place on its panel and the clock's no panel."""
    raw = copy.deepcopy(sample())
    for item in raw["equipment"]:
        own = item["supplies"][0]["breaker"]
        if item["id"] == "radio-1":
            own.pop("at")
        if item["id"] == "clock":
            own.pop("at")
            own.pop("panel")
    return raw


def test_what_has_a_panel_but_no_place_or_no_panel_is_named_in_a_line() -> None:
    found = sheet_of(reading(changed()), "early")
    page = made(panel_page.PAGE.pages(found))["panel-pedestal.html"]
    assert re.search(r"place not given: <a [^>]*>RADIO 1</a> \(7.5\u00a0A\)\.", page)
    shown = Table(page).places
    assert shown["B1"] is None
    assert shown["B2"] is not None
    [panels] = [kind for kind in list_pages.LISTS if kind.template == "panel-list"]
    listed = made(panels.pages(found))["panels.html"]
    line = re.search(r"Not on a panel: (.*)\.</p>", listed)
    assert line
    assert "CLOCK" in line[1]
    assert "Hot bus fuse" in line[1]
    assert "RADIO" not in line[1]


def without_places(value: Any) -> Any:
    if isinstance(value, dict):
        kept = {
            k: v for k, v in value.items() if k != "panel" and not (k == "at" and "panel" in value)
        }
        return {k: without_places(v) for k, v in kept.items()}
    return [without_places(v) for v in value] if isinstance(value, list) else value


def test_a_catalogue_without_panels_has_no_panel_pages_and_no_maps() -> None:
    bare = {**without_places(sample()), "panels": []}
    found = sheet_of(reading(bare), "early")
    assert panel_page.PAGE.pages(found) == []
    assert all('class="map' not in text for text in made(bus_page.PAGE.pages(found)).values())


def test_the_finder_leads_from_a_breaker_to_its_place_and_lists_the_panels() -> None:
    found = {(e.name, e.kind): e.href for e in entries(context("block-1"))}
    assert found["TERRAIN", "Breaker"] == "panel-right-wall.html#at-terrain-warning.breaker"
    assert found["Right side wall panel", "Panel"] == "panel-right-wall.html"


def test_an_airframe_has_only_what_is_fitted_to_it() -> None:
    def on(airframe: str) -> Iterator[str]:
        catalogue = reading(sample()).catalogue
        assert catalogue is not None
        for plan in panel_plans(build(catalogue, airframe), {}, {}):
            yield from (p.component.name for p in plan.placed)

    assert set(on("late")) - set(on("early")) == {"LAMP"}
