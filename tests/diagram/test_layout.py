"""What a person must be able to rely on in every drawing, whatever the net."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest

from sitegen.catalogue.model import Catalogue
from sitegen.diagram.dot_layout import Engine, x_positions
from sitegen.diagram.drawing import lay_out
from sitegen.diagram.order import ordered
from sitegen.diagram.parts import PartKey
from sitegen.diagram.placed_drawing import Box, Placed, PlacedDevice, Text, Word, trimmed
from sitegen.diagram.placement import place
from sitegen.diagram.plan import Picture, feed, overview, plan
from sitegen.diagram.rows import Label, rows
from tests.diagram.diagram_nets import catalogue, device, feeder, long_named, made_up, twin


def placed(picture: Picture, engine: Engine | None = None) -> Placed:
    """A picture with everything at its place."""
    planned = plan(picture)
    cut = ordered(rows(planned))
    (x,), _ = x_positions([cut], engine or Engine())
    return place(planned, cut, x)


def overlap(one: Box, other: Box, slack: float = 0.5) -> bool:
    """Whether two boxes share more than an edge."""
    return (
        one.left < other.right - slack
        and other.left < one.right - slack
        and one.top < other.bottom - slack
        and other.top < one.bottom - slack
    )


def stretches(drawing: Placed) -> list[tuple[int, Box]]:
    """Every straight stretch of every wire, with the wire's number."""
    return [
        (n, Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])))
        for n, wire in enumerate(drawing.wires)
        for line in wire.polylines
        for a, b in itertools.pairwise(line)
    ]


def inverter_alone() -> Catalogue:
    """A converter that is the only thing in its row."""
    return catalogue(
        sources=[
            {"id": "gen", "name": "Generator", "kind": "generator", "volts": 28},
            {
                "id": "inv",
                "name": "Inverter of the flight instruments",
                "kind": "converter",
                "volts": 115,
                "current": "ac",
                "fed-from": {"bus": "b-1", "through": ["cb"]},
            },
        ],
        buses=[{"id": "b-1", "name": "Main bus"}, {"id": "b-2", "name": "AC bus", "current": "ac"}],
        devices=[device("cb", "INV", "breaker", 5)],
        feeders=[feeder("gen", "b-1"), feeder("inv", "b-2")],
    )


NETS = {
    "the twin": twin(),
    "an inverter": inverter_alone(),
    "5 buses": made_up(5, 1),
    "20 buses": made_up(20, 2),
    "20 other buses": made_up(20, 3),
    "80 buses": made_up(80, 4),
}
ENGINES = {"placed": Engine(), "packed": Engine("/nowhere/dot")}


@pytest.fixture(params=[(n, e) for n in NETS for e in ENGINES], ids=" ".join, scope="module")
def drawing(request: pytest.FixtureRequest) -> Placed:
    name, engine = request.param
    return placed(overview(NETS[name]), ENGINES[engine])


def test_no_two_texts_overlap(drawing: Placed) -> None:
    boxes = drawing.text_boxes()
    assert len(boxes) >= 8
    clashes = [(a, b) for a, b in itertools.combinations(boxes, 2) if overlap(a, b)]
    assert not clashes


def test_no_bar_or_symbol_covers_another(drawing: Placed) -> None:
    symbols = [Box(d.at[0] - 11, d.at[1] - 14, d.at[0] + 11, d.at[1] + 14) for d in drawing.devices]
    boxes = [n.box for n in drawing.nodes] + symbols
    clashes = [(a, b) for a, b in itertools.combinations(boxes, 2) if overlap(a, b)]
    assert not clashes


def test_no_text_covers_a_symbol(drawing: Placed) -> None:
    symbols = [Box(d.at[0] - 11, d.at[1] - 14, d.at[0] + 11, d.at[1] + 14) for d in drawing.devices]
    symbols += [n.box for n in drawing.nodes if n.box.width == n.box.height]
    clashes = [(a, b) for a in drawing.text_boxes() for b in symbols if overlap(a, b)]
    assert not clashes


def test_a_bars_name_and_the_word_for_its_state_are_on_the_bar(drawing: Placed) -> None:
    assert_names_are_on_bars(drawing)


def test_a_name_that_is_wider_than_its_bar_goes_on_in_further_lines() -> None:
    assert_names_are_on_bars(placed(overview(long_named(twin()))))


def assert_names_are_on_bars(drawing: Placed) -> None:
    for node in drawing.nodes:
        if node.box.width != node.box.height:
            for text in (*node.text.boxes(), *node.word.boxes()):
                assert node.box.left <= text.left
                assert node.box.top <= text.top
                assert text.right <= node.box.right
                assert text.bottom <= node.box.bottom


def test_no_wire_runs_through_a_text(drawing: Placed) -> None:
    clashes = [
        (drawing.wires[n].key, text)
        for text in drawing.text_boxes()
        for n, run in stretches(drawing)
        if overlap(text, Box(run.left - 1, run.top - 1, run.right + 1, run.bottom + 1))
    ]
    assert not clashes


def test_no_wire_runs_through_a_bar(drawing: Placed) -> None:
    clashes = [
        (drawing.wires[n].key, node.key)
        for node in drawing.nodes
        for n, run in stretches(drawing)
        if overlap(node.box, Box(run.left - 1, run.top, run.right + 1, run.bottom), slack=1.5)
    ]
    assert not clashes


def test_every_wire_is_orthogonal_and_whole(drawing: Placed) -> None:
    for wire in drawing.wires:
        assert wire.polylines, f"{wire.key} is not drawn"
        for line in wire.polylines:
            for (x, y), (next_x, next_y) in itertools.pairwise(line):
                assert x == next_x or y == next_y


def test_wires_of_different_nodes_never_lie_on_each_other(drawing: Placed) -> None:
    """Two wires may cross; two wires that run along each other would read as one."""
    clashes = []
    for (n, a), (m, b) in itertools.combinations(stretches(drawing), 2):
        one, other = drawing.wires[n].key, drawing.wires[m].key
        ends = set(one.id.split("..")) & set(other.id.split(".."))
        if n == m or any(not e.startswith("b-") for e in ends):
            continue
        along_x = a.top == a.bottom and b.top == b.bottom and abs(a.top - b.top) < 2
        along_y = a.left == a.right and b.left == b.right and abs(a.left - b.left) < 2
        if along_x and min(a.right, b.right) - max(a.left, b.left) > 2:
            clashes.append((one, other, a, b))
        if along_y and min(a.bottom, b.bottom) - max(a.top, b.top) > 2:
            clashes.append((one, other, a, b))
    assert not clashes


def test_wires_meet_the_bars_they_connect(drawing: Placed) -> None:
    bars = {n.key.id: n.box for n in drawing.nodes}
    for wire in drawing.wires:
        ends = {line[k] for line in wire.polylines for k in (0, -1)}
        of = [
            d
            for d in drawing.devices
            if (d.key.feeder, d.key.converter) == (wire.key.feeder, wire.key.converter)
        ]
        first, last = wire.key.segment == 0, wire.key.segment == len(of)
        start, end = wire.key.id.split("..")
        for node in [start] * first + [end] * last:
            box = bars[node]
            assert any(
                box.left - 0.2 <= x <= box.right + 0.2 and box.top - 0.2 <= y <= box.bottom + 0.2
                for x, y in ends
            ), (wire.key, node)


def test_everything_lies_within_the_drawing(drawing: Placed) -> None:
    boxes = (
        drawing.text_boxes() + [n.box for n in drawing.nodes] + [b for _, b in stretches(drawing)]
    ) + [Box(d.at[0] - 11, d.at[1] - 11, d.at[0] + 11, d.at[1] + 11) for d in drawing.devices]
    assert min(b.left for b in boxes) >= 0
    assert min(b.top for b in boxes) >= 0
    assert max(b.right for b in boxes) <= drawing.width
    assert max(b.bottom for b in boxes) <= drawing.height


def test_sources_are_on_top_in_the_authors_order() -> None:
    drawing = placed(overview(twin()))
    symbols = {n.key.id: n.box for n in drawing.nodes}
    order = ["gen-1", "ext", "battery", "gen-2", "aux"]
    assert sorted(order, key=lambda n: symbols[n].left) == order
    top = {symbols[n].top for n in order}
    assert len(top) == 1
    assert min(top) == min(box.top for box in symbols.values())


def test_tied_buses_are_side_by_side_with_the_link_between_them() -> None:
    drawing = placed(overview(twin()))
    bars = {n.key.id: n.box for n in drawing.nodes}
    links = {d.key.id: d for d in drawing.devices}
    assert bars["left-main"].middle == bars["centre"].middle == bars["right-main"].middle
    assert bars["left-main"].right < links["fl-left"].at[0] < bars["centre"].left
    assert bars["centre"].right < links["fl-right"].at[0] < bars["right-main"].left
    assert links["fl-left"].at[1] == bars["centre"].middle


def test_the_three_ways_into_the_essential_bus_come_down_straight_onto_its_bar() -> None:
    drawing = placed(overview(twin()))
    bar = next(n.box for n in drawing.nodes if n.key.id == "essential")
    last = {d.key.id: d.at[0] for d in drawing.devices}
    for diode in ("d-ess-l", "d-ess-c", "d-ess-r"):
        assert bar.left < last[diode] < bar.right


def test_a_diode_that_feeds_upward_is_drawn_pointing_up() -> None:
    net = catalogue(
        sources=[{"id": "gen", "name": "Generator", "kind": "generator", "volts": 28}],
        buses=[{"id": "upper", "name": "Upper"}, {"id": "lower", "name": "Lower"}],
        devices=[device("d-back", "Back feed", "diode"), device("cb", "LOWER", "breaker", 5)],
        feeders=[
            feeder("gen", "upper"),
            feeder("upper", "lower", "cb"),
            feeder("lower", "upper", "d-back"),
        ],
    )
    turn = {d.key.id: d.turn for d in placed(overview(net)).devices}
    assert turn == {"d-back": 180, "cb": 0}


def test_a_tie_between_buses_that_are_not_neighbours_is_drawn_over_the_row() -> None:
    net = catalogue(
        sources=[
            {"id": f"gen-{n}", "name": f"Gen {n}", "kind": "generator", "volts": 28} for n in "abc"
        ],
        buses=[{"id": f"b-{n}", "name": f"Bus {n}"} for n in "abc"],
        devices=[device(f"k-{n}", f"Tie {n}", "contactor") for n in ("ab", "bc", "ac")],
        feeders=[
            *(feeder(f"gen-{n}", f"b-{n}") for n in "abc"),
            feeder("b-a", "b-b", "k-ab", tie=True),
            feeder("b-b", "b-c", "k-bc", tie=True),
            feeder("b-a", "b-c", "k-ac", tie=True),
        ],
    )
    drawing = placed(overview(net))
    at = {d.key.id: d.at for d in drawing.devices}
    assert at["k-ab"][1] == at["k-bc"][1]
    assert at["k-ac"][1] < at["k-ab"][1]


def test_the_outermost_symbol_has_the_margin_beside_it_even_if_no_bar_reaches_as_far() -> None:
    [diode] = catalogue(devices=[device("d", "D", "diode")]).devices
    label = Text(Label((), 12), (100, 0))
    lone = PlacedDevice(PartKey("device", "d"), diode, (100, 0), 0, label, Word((100, 0)))
    [drawn] = trimmed(Placed(devices=[lone]), margin=8).devices
    assert drawn.at == (14 + 8, 14 + 8)


def test_a_converter_takes_no_more_height_than_its_symbol_and_name() -> None:
    drawing = placed(overview(inverter_alone()))
    boxes = drawing.text_boxes() + [n.box for n in drawing.nodes]
    boxes += [Box(d.at[0] - 11, d.at[1] - 14, d.at[0] + 11, d.at[1] + 14) for d in drawing.devices]
    filled = 0.0
    for box in sorted(boxes, key=lambda b: b.top):
        assert box.top - filled <= 26
        filled = max(filled, box.bottom)


def test_devices_of_a_feeder_that_is_drawn_upward_come_in_its_order_from_below() -> None:
    net = catalogue(
        sources=[{"id": "gen", "name": "Generator", "kind": "generator", "volts": 28}],
        buses=[{"id": "upper", "name": "Upper"}, {"id": "lower", "name": "Lower"}],
        devices=[device("cb-near", "NEAR", "breaker", 5), device("d", "Back feed", "diode")],
        feeders=[
            feeder("gen", "upper"),
            feeder("upper", "lower"),
            feeder("lower", "upper", "cb-near", "d"),
        ],
    )
    y = {d.key.id: d.at[1] for d in placed(overview(net)).devices}
    assert y["d"] < y["cb-near"]


def test_nearly_all_wires_of_what_feeds_a_bus_are_straight() -> None:
    pictures = [placed(feed(twin(), [bus.id])) for bus in twin().buses]
    lines = [line for drawing in pictures for wire in drawing.wires for line in wire.polylines]
    assert sum(len(line) == 2 for line in lines) >= 0.875 * len(lines)


@pytest.mark.parametrize("bus", [b.id for b in twin().buses])
def test_a_feed_picture_is_as_narrow_as_its_columns_allow(bus: str) -> None:
    drawing = placed(feed(twin(), [bus]))
    rows_of_devices = Counter(d.at[1] for d in drawing.devices if d.turn != -90)
    # Four named contactors abreast are about what a phone's width holds, at nine tenths of their
    # natural size.
    assert 0.9 * drawing.width <= 90 * max(*rows_of_devices.values(), 4)


def test_a_feed_of_two_sources_fits_a_phone() -> None:
    net: Catalogue = catalogue(
        sources=[
            {"id": "gen", "name": "Generator", "kind": "generator", "volts": 28, "amps": 300},
            {"id": "battery", "name": "Battery", "kind": "battery", "volts": 24, "amp-hours": 40},
        ],
        buses=[{"id": "main", "name": "Main bus"}, {"id": "essential", "name": "Essential bus"}],
        devices=[
            device("k-gen", "Generator contactor", "contactor"),
            device("k-bat", "Battery contactor", "contactor"),
            device("cb", "ESS", "breaker", 50),
        ],
        feeders=[
            feeder("gen", "main", "k-gen"),
            feeder("battery", "main", "k-bat"),
            feeder("main", "essential", "cb"),
        ],
    )
    assert placed(feed(net, ["essential"])).width <= 340


def test_a_tie_through_a_contactor_with_two_ways_to_close_can_be_drawn() -> None:
    net = catalogue(
        airframes=[{"id": "one", "name": "One"}],
        sources=[{"id": "gen", "name": "Generator", "kind": "generator", "volts": 28}],
        buses=[{"id": "left", "name": "Left bus"}, {"id": "right", "name": "Right bus"}],
        devices=[
            {
                "id": "k-tie",
                "name": "Tie contactor",
                "kind": "contactor",
                "fitted-to": ["one"],
                "closes-when": [{"live": ["gen"]}, {"dead": ["right"]}],
            }
        ],
        feeders=[feeder("gen", "left"), feeder("left", "right", "k-tie", tie=True)],
    )
    one, two = lay_out([overview(net), feed(net, ["right"])])
    assert "k-tie" in {part.id for part in one.parts()}
    assert "k-tie" in {part.id for part in two.parts()}
