"""What pages and the handout say of one small aircraft, line by line."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.readings import LIT, UNLIT, reading_text
from sitegen.answers.trace import trace
from sitegen.catalogue.model import Terms
from sitegen.output.site import build_pocket, build_site
from sitegen.pages import bus_page, equipment_page, failure_page, fault_isolation_page
from sitegen.pages.find_entries import entries
from sitegen.pages.fragments.component_facts import terms_words
from sitegen.pages.fragments.failure_view import View
from sitegen.pages.fragments.panel_map import HOLE, PITCH
from sitegen.pages.page_context import PageContext
from sitegen.pages.part_cards import part_cards, rows
from sitegen.pages.theme import theme_text
from sitegen.solver.scenarios import Fault
from sitegen.terminal.trace_text import trace_text
from tests.nets import NOT_SYNCHRONISED, expand
from tests.pages.pages_sample import context_of, modes, reading, sample, words

EVERY_PART = [
    *("buses", "failures", "indications", "loads", "equipment-losses", "functions", "index"),
    *("blank-diagram", "blank-buses"),
]


def catalogue() -> dict[str, Any]:
    """The sample with notes, a breaker without a place, and supplies without a breaker."""
    raw = sample()
    device = {d["id"]: d for d in raw["devices"]}
    device["cb-left"] |= {"note": "Has a *collar*.", "reference": "24-50-01"}
    raw["buses"][0]["note"] = "Behind the pilot."
    raw["failures"][0] |= {"note": "Seen in training only."}
    fan, gyro, radio = (next(e for e in raw["equipment"] if e["id"] == i) for i in CHANGED)
    fan["amps"] = {"cruise": 4}
    gyro |= {"amps": 1, "peak-amps": 3}
    radio["amps"] = 6
    raw["equipment"] += [
        {
            "id": "loose",
            "name": "Map light",
            "ata": "33-10",
            "supplies": [{"bus": "left", "breaker": {"name": "MAP", "amps": 1}}],
        },
        {"id": "bare", "name": "Hour meter", "ata": "31-20", "supplies": [{"bus": "left"}]},
        {
            "id": "shared",
            "name": "Step light",
            "ata": "33-40",
            "supplies": [
                {"bus": "right", "breaker": "cb-shared", "wire": 18, "length": {"feet": 36}}
            ],
        },
    ]
    raw["equipment"].append(
        {
            "id": "lantern",
            "name": "Lantern",
            "ata": "33-10",
            "supplies": [
                {"bus": "left", "breaker": {"name": "LANTERN", "amps": 1}},
                {"bus": "hot", "through": ["k-spare"]},
            ],
        }
    )
    raw["functions"].append({"id": "light", "name": "Light", "provided-by": ["lantern"]})
    heard = {"all": ["fan", {"any": ["radio-1", "radio-2"]}]}
    raw["functions"].append({"id": "cooled-radio", "name": "Cooled radio", "provided-by": [heard]})
    on = {"switches": {"spare-switch": "on"}}
    raw["switches"].append({"id": "spare-switch", "name": "Spare", "positions": ["off", "on"]})
    raw["devices"].append({"id": "k-spare", "name": "Spare", "kind": "relay", "closes-when": on})
    raw["failures"].append({"id": "side", "name": "Left out", "failed": ["left"], "then": on})
    raw["devices"].append({"id": "cb-shared", "name": "STEP", "kind": "breaker", "amps": 2})
    raw["load-columns"] = [{"id": "cruise", "name": "Cruise"}]
    raw["conditions"][0]["loads"] = "cruise"
    raw["handout"] = [
        {
            "id": "course",
            "name": "Course",
            "sections": EVERY_PART,
            "conditions": ["flight", "parked"],
        }
    ]
    return raw


CHANGED = ("fan", "gyro", "radio-1")


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    files = build_site(reading(catalogue())).files
    return {p.removeprefix("early/"): c for p, c in files if isinstance(c, str)}


@pytest.fixture(scope="module")
def context() -> PageContext:
    return context_of(catalogue())


# Facts of a component


def test_a_device_page_has_the_authors_note_and_reference(pages: dict[str, str]) -> None:
    said = words(pages["failure-cb-left.html"])
    assert "Note Has a collar ." in said
    assert "Reference 24-50-01" in said
    assert "Between Left bus and Essential bus" in said


def test_from_a_breaker_its_bus_is_found_and_from_its_item_the_wire(pages: dict[str, str]) -> None:
    assert "On Right bus In the supply of Step light" in words(pages["failure-cb-shared.html"])
    assert "on Right bus" in words(pages["equipment-shared.html"])
    assert "18 gauge wire, 36 ft" in words(pages["equipment-shared.html"])
    assert "gauge" not in words(pages["equipment-loose.html"]).replace("no length or gauge", "")


def test_what_closes_by_volts_says_at_which(context: PageContext) -> None:
    limits = {"volts-above": {"left": 25}, "volts-below": {"gen-2": 26.5}}
    said = words(terms_words(context, [Terms.model_validate(limits)]))
    assert said == "Left bus shows more than 25 V and Generator 2 shows less than 26.5 V"


def test_the_failure_page_of_a_bus_leads_to_the_page_of_the_bus(pages: dict[str, str]) -> None:
    said = words(pages["failure-left.html"])
    assert "Bus page Left bus" in said
    assert "Rating" not in said
    assert "Rating 28.5 V DC, 200 A" in words(pages["failure-gen-1.html"])


def test_a_named_failure_has_its_note_and_what_the_crew_does(pages: dict[str, str]) -> None:
    said = words(pages["named-failure-both.html"])
    assert "Note Seen in training only." in said
    assert "Turn off Autopilot" in said
    assert "Generator 1 switch" in said


def test_what_does_not_conduct_anyway_is_said_to_be_open_already(pages: dict[str, str]) -> None:
    assert "Already open" in words(pages["failure-k-1.html"])
    assert "Already dead" in words(pages["failure-left.html"])


# Names


def test_an_item_without_a_text_of_what_to_do_has_its_name_and_breaker_only(
    context: PageContext,
) -> None:
    assert words(str(context.fragments.rows["heater"])) == "Cabin heater HEATER 20 A Pedestal B3"
    assert words(str(context.fragments.rows["radio-1"])).endswith("Use Radio 2 .")


def test_of_a_long_list_only_the_first_are_named_unless_one_more_would_be_all(
    context: PageContext,
) -> None:
    def said(*ids: str) -> str:
        return words(str(context.fragments.list(ids, 2)))

    assert said("fan", "gyro", "clock") == "Avionics fan , Attitude gyro , Clock"
    assert said("fan", "gyro", "clock", "heater") == "Avionics fan , Attitude gyro and 2 more"


# What is left


def test_all_that_works_is_on_battery_only_where_a_failure_leaves_nothing_else(
    context: PageContext,
) -> None:
    network = context.answers.network

    def view(condition: int, *faults: Fault) -> View:
        name = context.answers.conditions[condition].id
        loss, normal = drop(network, name, faults), context.answers.normal[condition]
        return View(network, "", condition, faults, loss, normal, "")

    feeds = view(0, ("cb-left", "open"), ("cb-right", "open"))
    assert feeds.newly_on_battery == ("autopilot", "clock", "gyro", "radio-1")
    assert not feeds.all_on_battery
    assert view(0, ("gen-1", "lost"), ("gen-2", "lost")).all_on_battery
    # Parked it was so before.
    assert not view(1, ("gen-1", "lost")).all_on_battery


# The finder and the list A to Z


def test_each_letter_leads_to_its_list(pages: dict[str, str]) -> None:
    page = pages["a-to-z.html"]
    letters = re.findall(r'<a href="#([^"]+)">(.)</a>', page)
    assert len(letters) > 10
    assert [letter for _, letter in letters] == sorted(letter for _, letter in letters)
    for anchor, letter in letters:
        begins = page.partition(f'id="{anchor}"')[2]
        first = re.search(r'class="item"[^>]*>([^<]+)<', begins)
        assert first is not None
        assert first[1][0].upper() == letter


def test_the_finder_says_what_a_thing_is_and_leads_to_the_page_about_it(
    context: PageContext,
) -> None:
    found = {e.name: e for e in entries(context)}
    assert found["Left bus drops"].kind == "Failure"
    assert found["Left bus drops"].href == "failure-left.html"
    assert found["Left bus"].kind == "Bus"
    # A breaker without a place leads to the supplies of what it serves.
    assert found["MAP"].href == "equipment-loose.html#supplies"
    assert found["Map light"].detail == "MAP 1\u00a0A, on Left bus"
    assert found["Hour meter"].detail == "on Left bus"
    # A device says where it is: between two nodes, or on which bus.
    assert found["STEP"].detail == "2\u00a0A, on Right bus"
    assert found["Left diode"].detail == "Left bus to Essential bus"


def test_the_finder_leads_from_a_condition_to_what_it_is(
    context: PageContext, pages: dict[str, str]
) -> None:
    [parked] = [e for e in entries(context) if e.kind == "Condition" and e.words == "parked"]
    page, _, anchor = parked.href.partition("#")
    assert f'id="{anchor}"><dt>{parked.name}</dt>' in pages[page]


# The pocket edition


def test_the_pocket_edition_runs_the_scripts_of_every_page_itself() -> None:
    """The scripts that only some pages have go with those pages."""
    pocket, _ = build_pocket(reading(sample()), "early")
    scripts = [text.strip() for text in re.findall("<script>(.*?)</script>", pocket, re.S)]
    for name in ("helpers.js", "site.js", "find.js"):
        assert scripts.count(theme_text(name).strip()) == 1
    assert theme_text("pictures.js").strip() not in scripts


# Cards of the drawing


def test_the_card_of_a_device_says_where_it_is_and_what_it_feeds(context: PageContext) -> None:
    network = context.answers.network
    assert dict(rows(network, "cb-left")) == {
        "Between": "Left bus and Essential bus",
        "Where": "Pedestal A1",
    }
    assert dict(rows(network, "cb-shared")) == {"Feeds": "Step light"}


def test_the_card_of_a_bus_leads_to_its_failure_as_well(context: PageContext) -> None:
    cards = part_cards(context.answers.network)
    assert cards["left"]["fails"] == "failure-left.html"
    assert "fails" not in cards["cb-left"]


# Panels


def test_a_panel_says_what_is_on_it_and_names_its_places_from_one(pages: dict[str, str]) -> None:
    said = words(pages["panel-pedestal.html"])
    assert "12 breakers" in said
    assert ">A1<" in pages["panel-pedestal.html"]


def test_a_map_of_a_panel_has_the_same_edge_on_every_side(pages: dict[str, str]) -> None:
    """Twelve places abreast in two rows: B12 is as far from its corner as A1 is."""
    page = pages["equipment-radio-1.html"]
    size = re.search(r'<svg viewBox="0 0 (\d+) (\d+)"[^>]*><path class="holes" d="M(\d+)', page)
    assert size is not None
    width, height, edge = map(int, size.groups())
    assert (width, height) == (11 * PITCH + HOLE + 2 * edge, PITCH + HOLE + 2 * edge)


# Views


def test_a_mode_is_chosen_where_there_are_several(pages: dict[str, str]) -> None:
    assert modes(pages["failure-left.html"]) == ["Dead", "Shorted"]
    assert 'class="modes"' not in pages["loads.html"]


# Functions


def test_a_function_page_says_what_it_is_and_its_state(pages: dict[str, str]) -> None:
    said = words(pages["function-talking.html"])
    assert "Function, essential" in said
    assert "Nothing to spare" in said  # parked, radio 2 has no power
    page = pages["function-light.html"]
    assert "Function, essential" not in words(page)
    assert "Light \u2013 Function |" in words(page)
    assert "Not available" in words(page)  # parked, the left bus is dead
    assert '<div class="is-live in0">' in page
    assert '<div class="is-dead in1">' in page


def test_a_function_of_groups_says_which_of_them_are_needed(pages: dict[str, str]) -> None:
    needed = "Needed: Avionics fan and (1 of Radio 1 , Radio 2 )"
    for name in ("function-cooled-radio.html", "functions.html", "handout.html"):
        assert needed in words(pages[name]), name
    assert "1 of 1 needed" not in words(pages["function-cooled-radio.html"])


# Loads


def test_the_load_page_says_short_time_amps_only_where_they_are_more(
    pages: dict[str, str],
) -> None:
    said = words(pages["loads.html"])
    assert "Attitude gyro 1.0 A, 3.0 A short-time" in said
    assert "Radio 1 6.0 A" in said
    assert "Radio 1 6.0 A, " not in said
    assert "may open at worst" not in said
    assert "Generator 1 contactor at least 7.6 A At worst at least 15.2 A: Generator 2 lost" in said
    assert "Source nearest its rating after a failure, short-time loads apart: Generator" in said
    nearest = re.findall(r"Nearest its rating with nothing failed: (\w+) ([^.]*\.[^.]*?%)", said)
    assert nearest == [("INV", "5.2 A of 15 A, 34 %"), ("INV", "6.0 A of 15 A, 40 %")]
    assert "At least: 8 items have no figure." in said
    assert "8 items, counted as nothing: Radio 2 ," in said


def test_the_page_of_a_failure_has_the_amps_that_change(pages: dict[str, str]) -> None:
    said = words(pages["failure-gen-1.html"])
    assert "Generator 1 gives nothing Generator 2 at least 15.2 A, 8 %" in said
    assert "Right bus at least 4.0 A The other sources and live buses: as with" in said
    # On the battery both generators are off line already.
    assert "Every source gives, and every live bus feeds, what it does with nothing failed." in said


# Blank drawings


def test_the_key_of_a_blank_drawing_has_volts_and_amps_of_a_source(pages: dict[str, str]) -> None:
    assert "28.5 V, 200 A" in words(pages["blank.html"])


# The handout


def block(page: str, start: str, end: str) -> str:
    return words(page[page.index(start) :].partition(end)[0])


def test_of_the_breakers_of_a_bus_those_without_a_place_come_before_what_has_none(
    pages: dict[str, str],
) -> None:
    left = block(pages["handout.html"], 'id="bus-left"', "</article>")
    assert left.index("RADIO 2") < left.index("FAN L") < left.index("MAP")
    assert left.index("MAP") < left.index("Hour meter")


def test_the_handout_says_what_the_crew_does_and_what_that_brings_or_takes(
    pages: dict[str, str],
) -> None:
    both = block(pages["handout.html"], 'id="named-failure-both"', "</article>")
    assert "Turn off Autopilot" in both
    assert "Turned off (1): Autopilot" in both
    assert "Lost as well" not in both
    side = block(pages["handout.html"], 'id="named-failure-side"', "</article>")
    assert "Back (1): Lantern" in side
    assert "Functions back: Light" in side


def test_the_handout_says_from_what_an_indication_is_powered(pages: dict[str, str]) -> None:
    table = block(pages["handout.html"], 'id="indications"', "</table>")
    assert "Essential bus" in table
    assert "none needed" in table


def test_the_handout_names_the_load_column_of_each_condition_that_has_one(
    pages: dict[str, str],
) -> None:
    said = block(pages["handout.html"], 'id="loads"', "</section>")
    assert "Bus Flight Cruise Parked on battery Left bus" in said


def test_the_matrix_explains_its_marks(pages: dict[str, str]) -> None:
    said = block(pages["handout.html"], 'id="equipment-losses"', "</section>")
    assert "reduced: works, but has lost a supply or an alternative" in said


def test_what_has_the_same_name_is_in_the_index_by_what_it_is(pages: dict[str, str]) -> None:
    raw = catalogue()
    raw["switches"][0]["name"] = "Fan"
    raw["functions"].append({"id": "fan", "name": "Heater", "provided-by": ["heater"]})
    raw["sources"][0]["name"] = "Heater"
    page = str(dict(build_site(reading(raw)).files)["early/handout.html"])
    index = block(page, 'id="index"', "</section>")
    assert index.index("Heater function") < index.index("Heater generator")


def test_a_lamp_is_lit_and_a_flag_is_in_view() -> None:
    assert [reading_text(LIT, kind) for kind in ("lamp", "flag")] == ["lit", "in view"]
    assert [reading_text(UNLIT, kind) for kind in ("lamp", "flag")] == ["unlit", "out of view"]


def test_the_page_of_a_bus_has_the_functions_lost_with_it_first(context: PageContext) -> None:
    """With the mark of what is essential, then how many items, as the way to all of them."""
    pages = {page.path: page.make() for page in bus_page.PAGE.pages(context)}
    text = next(t for path, t in pages.items() if path.endswith("bus-essential.html"))
    drops = re.findall(r"If it drops</h2>(.*?)</section>", text, re.S)[0]
    network = context.answers.network
    views = zip(context.answers.single["essential", "dead"], context.answers.normal, strict=True)
    for k, (loss, normal) in enumerate(views):
        lost = {
            f.name: f.essential
            for f in network.catalogue.functions
            if loss.functions[f.id] == "lost" != normal.functions[f.id]
        }
        tiles = re.findall(r"<li([^>]*)>(.*?)</li>", drops)
        shown = {
            re.sub("<.*?>", "", tile).replace(" essential", "").strip(): "class=tag" in tile
            for where, tile in tiles
            if not where or re.search(rf"\bv{k}\b", where)
        }
        assert shown == lost
    assert drops.index("<li") < drops.index("lost</b>")
    assert 'href="failure-essential.html"' in drops
    items = [e for e in network.equipment if f"equipment-{e}.html" in drops]
    assert items == []


UPSTREAM_LINES = r'<span class="?also([^">]*)"?>((?:Upstream|No breaker|Connected to)[^<]*)</span>'


def upstream(page: str) -> list[str]:
    """What is upstream in each of two conditions."""
    lines = re.findall(UPSTREAM_LINES, page)
    return [
        " ".join(words(text) for where, text in lines if view in (where or "v0 v1"))
        for view in ("v0", "v1")
    ]


UPSTREAM = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24}}
buses: [main, side, hot]
devices:
  cb-side: {kind: breaker, amps: 35, name: SIDE, panel: box, at: A1}
  fl-tie: {kind: fuse-link, amps: 60, name: Tie link}
  k-bat: {kind: relay, closes-when: {dead: [gen]}}
feeders: [gen > main, main > cb-side > side, bat > hot, bat > fl-tie > k-bat > main]
equipment:
  radio: {supplies: [{bus: side}]}
  clock: {supplies: [{bus: hot}]}
conditions: {cruise: {sources: [gen, bat]}, battery-only: {sources: [bat]}}
"""


def test_upstream_protection_is_that_of_the_shortest_live_path_in_each_condition() -> None:
    panel = {"id": "box", "name": "Fuse box", "rows": ["A"], "columns": 4, "where": "aft"}
    found = context_of({**expand(UPSTREAM), "panels": [panel]}, "all")
    pages = {p.path.split("/")[-1]: p.make() for p in equipment_page.PAGE.pages(found)}
    assert upstream(pages["equipment-radio.html"]) == [
        "Upstream, from gen: SIDE 35 A (Fuse box A1).",
        "Upstream, from bat: SIDE 35 A (Fuse box A1), k-bat, Tie link 60 A.",
    ]
    assert "No breaker or fuse link upstream, from" in pages["equipment-clock.html"]


NEAR_BATTERY = """
sources:
  gen-1: {volts: 28, amps: 100}
  gen-2: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24}
  inv: {kind: converter, volts: 115, current: ac, efficiency: 0.8, fed-from: [{bus: aft}]}
buses: {main: {}, aft: {}, ac: {current: ac}}
devices:
  fl-2: {kind: fuse-link, amps: 80, name: Link 2}
  fl-tie: {kind: fuse-link, amps: 60, name: Tie link}
  fl-bat: {kind: fuse-link, amps: 90, name: Battery link}
feeders: [gen-1 > main, gen-2 > fl-2 > main, main > fl-tie > aft, bat > fl-bat > aft, inv > ac]
equipment:
  pump: {supplies: [{bus: aft}]}
  gyro: {supplies: [{bus: ac}]}
conditions: {cruise: {sources: [gen-1, gen-2, bat]}, battery-only: {sources: [bat]}}
"""


@pytest.mark.parametrize("item", ["pump", "gyro"])
def test_upstream_names_the_sources_that_carry_not_the_nearest(item: str) -> None:
    """The battery is nearest, and carries only once the generators are gone; so by an inverter."""
    found = context_of(expand(NEAR_BATTERY), "all")
    pages = {p.path.split("/")[-1]: p.make() for p in equipment_page.PAGE.pages(found)}
    page = pages[f"equipment-{item}.html"]
    assert upstream(page) == [
        "Upstream, from gen-1: Tie link 60 A."
        " Upstream, from gen-2: Tie link 60 A, Link 2 80 A."
        f" Connected to it too: {'bat' if item == 'pump' else 'inv'}.",
        "Upstream, from bat: Battery link 90 A."
        + (" Connected to it too: inv." if item == "gyro" else ""),
    ]


MORE_IN_CRUISE = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24}}
buses: [main, side]
devices: {k-side: {kind: relay, closes-when: {live: [gen]}}}
feeders: [gen > main, bat > main, main > k-side > side]
equipment: {radio: {supplies: [{bus: main}]}, fan: {supplies: [{bus: side}]}}
conditions: {cruise: {sources: [gen, bat]}, battery-only: {sources: [bat]}}
"""


def test_what_is_lost_besides_is_said_of_each_condition() -> None:
    """The main bus takes the fan too in cruise, and on the battery nothing but the radio."""
    found = context_of(expand(MORE_IN_CRUISE), "all")
    pages = {p.path.split("/")[-1]: words(p.make()) for p in equipment_page.PAGE.pages(found)}
    each = "main dead or shorted Also lost: fan . Nothing else is lost."
    assert each in pages["equipment-radio.html"]
    # Where the fan is lost at all, the radio is.
    assert "main dead or shorted Also lost: radio ." in pages["equipment-fan.html"]
    network = found.answers.network
    text = "\n".join(trace_text(network, trace(network, "radio")))
    assert "side shorted (in cruise)\n    also lost then: fan\n" in text
    assert "bat lost (in battery-only)\n    alone\n" in text


def test_the_small_panel_does_not_say_the_place_again(context: PageContext) -> None:
    for page in equipment_page.PAGE.pages(context):
        for text in re.findall(r'<a class="map.*?</svg>(.*?)</a>', page.make(), re.S):
            assert "<small" not in text


def test_what_is_lost_is_folded_by_chapter_where_it_is_more_than_forty(
    context: PageContext, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = next(p for p in failure_page.SINGLE.pages(context) if "essential" in p.path)
    modes_of = context.answers.network.components["essential"].modes
    losses = [loss for mode in modes_of for loss in context.answers.single["essential", mode]]
    lost = max(len(loss.lost) for loss in losses)
    assert 0 < lost <= failure_page.LONG == 40
    assert "by-chapter" not in page.make()
    monkeypatch.setattr(failure_page, "LONG", lost - 1)
    assert "by-chapter" in page.make()


def test_no_mark_of_the_terminal_is_on_a_page(site: Path) -> None:
    """What the terminal sets in backquotes is a command; a page has links."""
    for path in sorted((site / "block-1").glob("*.html")):
        shown = re.sub(
            r"<(script|style)\b.*?</\1>", "", path.read_text(encoding="utf-8"), flags=re.S
        )
        assert "`" not in re.sub(r"<[^>]+>", "", shown), path.name


def test_a_meter_of_which_the_amps_cannot_be_known_is_no_sign_in_the_table() -> None:
    text = NOT_SYNCHRONISED.replace("buses: [left, right]", "buses: {left: AC, right: AC}")
    text = (
        text.replace("AC", "{current: ac}")
        + """
equipment: {heater: {supplies: [{bus: right}], amps: 10}}
indications: {load-2: {kind: loadmeter, at: ac-2}}
"""
    )
    context = context_of(expand(text))
    [table] = context.answers.signature_table
    assert ("tie", "stuck-closed") in table.unseen["expected"]
    assert "not known" not in str(list(fault_isolation_page.branches(context, table)))
