"""The drawing as SVG: parts, links, states, and what happens without an engine."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from sitegen.diagram import dot_layout
from sitegen.diagram.dot_layout import ENVIRONMENT, Engine
from sitegen.diagram.drawing import Drawing, lay_out
from sitegen.diagram.numbering import RADIUS, discs
from sitegen.diagram.parts import STATES, VIEWS, PartKey, text_width
from sitegen.diagram.plan import feed, overview
from sitegen.diagram.rows import Rows
from sitegen.diagram.state_marks import legend, state_mark, state_rules
from sitegen.diagram.symbols import SYMBOL_NAMES
from sitegen.pages.theme import theme_text
from sitegen.resources import theme
from tests.diagram.diagram_nets import catalogue, device, feeder, made_up, twin

STYLE = theme_text("diagram.css")
PALETTE = theme_text("palette.css")


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return lay_out([overview(twin())])[0]


def elements(svg: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg).iter())


def test_every_source_bus_device_and_wire_is_a_part(drawing: Drawing) -> None:
    net = twin()
    parts = drawing.parts()
    assert {p.id for p in parts if p.kind == "node"} == {n.id for n in (*net.sources, *net.buses)}
    assert {p.id for p in parts if p.kind == "device"} == {d.id for d in net.devices}
    wires = [p for p in parts if p.kind == "wire" and p.converter is None]
    assert len(wires) == sum(len(f.through) + 1 for f in net.feeders)
    assert {p.segment for p in wires if net.feeders[p.feeder or 0].to == "survey"} == {0, 1, 2, 3}


def test_a_shared_contactor_is_a_part_in_each_feeder_it_is_in() -> None:
    net = catalogue(
        sources=[{"id": "gen", "name": "Generator", "kind": "generator", "volts": 28}],
        buses=[{"id": "one", "name": "Bus 1"}, {"id": "two", "name": "Bus 2"}],
        devices=[device("k", "Avionics relay", "relay")],
        feeders=[feeder("gen", "one", "k"), feeder("gen", "two", "k")],
    )
    poles = [p for p in lay_out([overview(net)])[0].parts() if p.kind == "device"]
    assert [(p.id, p.feeder, p.segment) for p in poles] == [("k", 0, 0), ("k", 1, 0)]


def test_the_svg_is_well_formed_and_every_part_is_a_link_with_a_title(drawing: Drawing) -> None:
    svg = drawing.render(lambda p: "live-0", lambda p: f"parts/{p.id}.html?a=1&b=2")
    found = [e for e in elements(svg) if e.tag.endswith("}a") and "data-part" in e.attrib]
    assert len(found) == len(drawing.parts())
    for part in found:
        assert part.attrib["href"] == f"parts/{part.attrib['data-part']}.html?a=1&b=2"
        assert "live-0" in part.attrib["class"].split()
        assert part.find("{http://www.w3.org/2000/svg}title") is not None


def test_the_svg_has_no_empty_lines_which_would_make_every_page_longer(drawing: Drawing) -> None:
    assert all(line.strip() for line in drawing.render().strip().split("\n"))


def test_a_part_that_leads_nowhere_has_no_address(drawing: Drawing) -> None:
    assert "href" not in drawing.render()


def test_names_are_text_and_never_markup() -> None:
    net = catalogue(
        sources=[{"id": "gen", "name": "<b>&\"'", "kind": "generator", "volts": 28}],
        buses=[{"id": "one", "name": "</svg><script>"}],
        devices=[device("cb", "<i>", "breaker", 5)],
        feeders=[feeder("gen", "one", "cb")],
    )
    svg = lay_out([overview(net)])[0].render()
    tags = {e.tag.split("}")[1] for e in elements(svg)}
    assert tags.isdisjoint({"b", "i", "script"})


def test_the_picture_stays_put_whatever_fails(drawing: Drawing) -> None:
    before = drawing.render(lambda p: "live-0")
    after = drawing.render(lambda p: "dead-0" if p.kind == "wire" else "failed-0")
    assert re.sub("(dead|failed)-0", "live-0", after) == before


def test_contacts_differ_between_open_and_closed(drawing: Drawing) -> None:
    svg = drawing.render()
    for kind in ("breaker", "fuse", "fuse-link", "contactor", "relay", "switch"):
        start = svg.index(f'"part device {kind} ')
        symbol = svg[start : svg.index("</a>", start)]
        shapes = dict(re.findall(r'class="[^"]*\b(shut|gap)" d="([^"]*)"', symbol))
        assert shapes["shut"] != shapes["gap"], kind


def test_every_device_and_source_kind_has_a_symbol_of_its_own() -> None:
    folder = theme() / "diagram" / "symbols"
    drawn = {p.stem: p.read_text("utf-8") for p in folder.glob("*.svg")}
    assert set(drawn) == set(SYMBOL_NAMES)
    assert len(set(drawn.values())) == len(drawn)


def test_the_style_sheet_holds_the_rules_for_every_view() -> None:
    for state in (*STATES, "closed"):
        for view in range(VIEWS):
            assert f"#view-{view}:checked~* .{state}-{view},.show-{view} .{state}-{view}," in STYLE
    assert f"-{VIEWS}:" not in STYLE
    assert f"#view-{VIEWS}:checked~* .dead-{VIEWS}," in state_rules(VIEWS + 1)


def contrast(one: str, other: str) -> float:
    """WCAG 2.2's contrast ratio of two colours `#rrggbb` (its formula, from memory)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("look", [1, 2], ids=["day", "night"])
def test_colours_keep_the_contrast_of_wcag_aa(look: int) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1 for text (from memory)."""

    def colour(name: str) -> str:
        both = re.search(rf"--{name}: ?light-dark\((#\w{{6}}), ?(#\w{{6}})\)", PALETTE)
        assert both, name
        return both[look]

    for name in ("draw", *STATES):
        assert contrast(colour(name), colour("sheet")) >= 4.5, name


def test_live_dead_and_battery_lines_differ_without_colour() -> None:
    """Line width, dots and stripes, so that a black-and-white print tells them apart."""
    looks = {}
    for state in ("live", "battery", "dead"):
        rule = re.search(rf"\.state-{state}\{{([^}}]*)\}}", STYLE)
        assert rule
        given = dict(p.split(":", 1) for p in rule[1].split(";"))
        looks[state] = (given.get("--w"), given.get("--dots"), given.get("--core"))
    assert len(set(looks.values())) == 3
    assert looks["dead"][1]
    assert looks["battery"][2]


def test_each_state_has_a_mark_of_its_own() -> None:
    marks = [str(state_mark(s)).replace(f"state-{s}", "") for s in STATES]
    shapes = [re.sub(r'class="state-mark part *"', "", m) for m in marks]
    # Live and dead share a shape and differ in filling and outline, which the style gives.
    assert len(set(shapes)) == len(STATES) - 1


def test_a_legend_explains_what_is_drawn_and_nothing_else(drawing: Drawing) -> None:
    small = legend(lay_out([feed(twin(), ["hot"])])[0], ["live", "dead"])
    assert "Fuse link" in small
    assert "Diode" not in small
    assert "Failed" not in small
    assert "Diode" in legend(drawing)
    assert "Shunt" in legend(drawing)


def test_a_feed_shows_only_what_can_feed_the_bus() -> None:
    ids = {p.id for p in lay_out([feed(twin(), ["ac-115"])])[0].parts() if p.kind == "node"}
    assert {"ac-115", "inv-1", "essential", "battery", "gen-2", "left-main"} <= ids
    # Cabin hangs below the left main and feeds nothing; inverter 2 feeds another bus; power
    # cannot come back from the standby bus through its diode.
    assert ids.isdisjoint({"cabin", "inv-2", "standby", "aux", "hot"})


def test_a_feed_reaches_a_hot_bus_through_the_terminals_of_the_battery() -> None:
    ids = {p.id for p in lay_out([feed(twin(), ["hot"])])[0].parts() if p.kind == "node"}
    assert {"hot", "battery", "centre", "gen-1", "ext"} <= ids


def test_pictures_of_one_run_are_the_same_alone_or_together() -> None:
    pictures = [overview(twin()), feed(twin(), ["essential"]), overview(made_up(12, 5))]
    together = lay_out(pictures)
    assert [lay_out([p])[0] for p in pictures] == together


def test_nothing_to_draw_is_no_trouble() -> None:
    assert lay_out([]) == []
    empty = lay_out([overview(catalogue())])[0]
    elements(empty.render())


def test_the_same_bytes_whatever_the_hash_seed() -> None:
    program = (
        "from tests.diagram.diagram_nets import *; from sitegen.diagram.drawing import lay_out;"
        "from sitegen.diagram.plan import *; c = made_up(20, 7);"
        "print(*(d.render() for d in lay_out([overview(c), feed(c, ['b-19', 'b-7'])])))"
    )
    folder = Path(__file__).parent
    runs = [
        subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            check=True,
            cwd=folder.parent.parent,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(folder.parent.parent)},
        ).stdout
        for seed in ("1", "2")
    ]
    assert len(runs[0]) > 10_000
    assert runs[0] == runs[1]


def script(folder: Path, text: str) -> str:
    """An executable that stands in for an engine with a fault."""
    path = folder / "engine"
    path.write_text(f"#!/bin/sh\n{text}\n")
    path.chmod(path.stat().st_mode | stat.S_IEXEC)
    return str(path)


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("exit 3", "failed (exit 3)"),
        ("kill -ABRT $$", "failed"),
        ("cat > /dev/null; echo '{'", "no readable answer"),
        ("cat > /dev/null; echo '{}{}'", "2 of 1"),
        ("cat > /dev/null; echo '{}'", "left something out"),
        ("cat > /dev/null; sleep 20", "more than 0.5 seconds"),
    ],
)
def test_an_engine_that_fails_still_leaves_a_drawing_and_a_notice(
    tmp_path: Path, fault: str, said: str
) -> None:
    drawn = lay_out([overview(twin())], Engine(script(tmp_path, fault), seconds=0.5))[0]
    assert said in drawn.notice
    assert len(drawn.parts()) > 50
    elements(drawn.render())


def test_a_missing_engine_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(ENVIRONMENT, "no-such-dot")
    assert "no-such-dot is not installed" in lay_out([overview(twin())])[0].notice
    monkeypatch.delenv(ENVIRONMENT)
    assert lay_out([overview(twin())])[0].notice == ""


def test_a_picture_that_the_engine_leaves_out_is_packed_and_the_others_are_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = dot_layout._call

    def without_the_last(*arguments: Any) -> tuple[list[Any], str]:
        answers, notice = asked(*arguments)
        return [*answers[:-1], {}], notice

    whole = lay_out([overview(twin()), feed(twin(), ["hot"])])
    monkeypatch.setattr(dot_layout, "_call", without_the_last)
    one, other = lay_out([overview(twin()), feed(twin(), ["hot"])])
    assert one.fragments == whole[0].fragments
    assert other.fragments != whole[1].fragments
    assert "left something out" in one.notice


def test_ratings_are_figures_that_a_drawing_to_fill_in_leaves_out(drawing: Drawing) -> None:
    lines = [
        (re.sub(r"<[^>]*>", "", text), "figure" in attributes)
        for attributes, text in re.findall(r"<tspan([^>]*)>(.*?)</tspan>", drawing.render())
    ]
    amps = {text: is_figure for text, is_figure in lines if re.fullmatch(r"\d+ A", text)}
    assert len(amps) > 2
    assert all(amps.values())
    assert not [text for text, is_figure in lines if is_figure and not re.search(r"\d", text)]


def test_packed_rows_are_centred_on_each_other() -> None:
    one, left, right = (
        SimpleNamespace(name=n, left=10, right=10) for n in ("one", "left", "right")
    )
    rows = SimpleNamespace(rows=[[one], [left, right]], measure=SimpleNamespace(gap=4))
    x = dot_layout._packed(cast(Rows, rows))
    assert x["right"] - x["left"] == 24
    assert x["one"] == (x["left"] + x["right"]) / 2


def test_the_disc_of_a_number_is_where_its_name_begins(drawing: Drawing) -> None:
    circles = re.findall(r'<circle cx="([\d.]+)"', discs(drawing))
    seen = set()
    for (_, (x, _), anchor), cx in zip(drawing.labels, circles, strict=True):
        assert float(cx) == {"start": x + RADIUS, "middle": x, "end": x - RADIUS}[anchor]
        seen.add(anchor)
    assert seen == {"start", "middle"}


def test_beside_each_part_are_the_words_for_the_states_that_it_can_be_in(drawing: Drawing) -> None:
    words = {
        element.attrib["class"].split()[1]: {span.text for span in word}
        for element in elements(drawing.render())
        if element.tag.endswith("}a")
        for word in element
        if word.attrib.get("class") == "word"
    }
    assert words["bus"] == {"LIVE", "BATT", "DEAD", "FAILED"}
    assert words["source"] == {"BATT", "DEAD", "FAILED"}
    assert words["device"] >= {"OPEN", "FAILED"}
    svg = drawing.render()
    assert "STUCK" in svg[svg.index('"part device contactor ') :].partition("</a>")[0]
    assert "STUCK" not in svg[svg.index('"part device diode ') :].partition("</a>")[0]


def test_the_ground_of_a_bars_name_is_behind_all_of_it_and_of_its_states_word() -> None:
    """A narrow bar has both in its middle: one plate is as wide as the wider of them."""
    net = catalogue(
        sources=[{"id": "gen", "name": "Generator", "kind": "generator", "volts": 28}],
        buses=[{"id": "long", "name": "Avionics bus"}, {"id": "short", "name": "B"}],
        feeders=[feeder("gen", "long"), feeder("gen", "short")],
    )
    for bus, text in (("long", "Avionics"), ("short", "FAILED")):
        svg = lay_out([feed(net, [bus])])[0].render()
        [plate] = re.findall(r'class="plate" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', svg)
        left, width = map(float, plate)
        wide = text_width(text, 11 if bus == "long" else 10.5, bold=True)
        middle = float(re.search(r'class="word" x="([\d.]+)"', svg)[1])  # type: ignore[index]
        assert left <= middle - wide / 2
        assert middle + wide / 2 <= left + width


def test_a_failed_contactor_that_conducts_is_drawn_closed() -> None:
    rules = state_rules(1)
    assert rules.rindex(".closed-0") > rules.rindex(".failed-0")


def test_part_keys_of_a_converter_input_name_the_converter(drawing: Drawing) -> None:
    assert PartKey("device", "cb-inv-1", 0, 0, "inv-1") in drawing.parts()
