"""The order of each row is chosen for few crossings of wires, and only for that."""

from __future__ import annotations

import itertools

import pytest

from sitegen.catalogue.model import Catalogue
from sitegen.diagram import order
from sitegen.diagram.drawing import lay_out
from sitegen.diagram.order import ordered
from sitegen.diagram.plan import Picture, feed, overview, plan
from sitegen.diagram.rows import Rows, rows
from tests.diagram.diagram_nets import catalogue, device, feeder, made_up, twin


def crossings(drawing: Rows) -> int:
    """Pair by pair: two wires between two rows cross if their ends are in opposite order."""
    place: dict[str, tuple[int, int, int]] = {}
    for k, row in enumerate(drawing.rows):
        for n, item in enumerate(row):
            place[item.name] = (k, n, 0)
            for m, cell in enumerate(item.cells):
                place[cell.id] = (k, n, m)
    wires = [
        (place[link.upper_bus or link.upper], place[link.lower_bus or link.lower])
        for link in drawing.links
        if not link.over
    ]
    return sum(
        one[0][0] == other[0][0]
        and (one[0] > other[0]) != (one[1] > other[1])
        and one[0] != other[0]
        and one[1] != other[1]
        for one, other in itertools.combinations(wires, 2)
    )


def in_authors_order(picture: Picture) -> Rows:
    return rows(plan(picture))


def buses(drawing: Rows) -> list[list[str]]:
    """The buses of each row that has any, from left to right."""
    named = [[c.id for item in row for c in item.cells if c.id] for row in drawing.rows]
    return [row for row in named if row]


def crosswise() -> Catalogue:
    """Two generators, each with the bus of the other side written below it."""
    return catalogue(
        sources=[
            {"id": f"gen-{side}", "name": f"{side} generator", "kind": "generator", "volts": 28}
            for side in ("left", "right")
        ],
        buses=[{"id": "right", "name": "Right bus"}, {"id": "left", "name": "Left bus"}],
        devices=[device("k-left", "Left", "contactor"), device("k-right", "Right", "contactor")],
        feeders=[feeder("gen-right", "right", "k-right"), feeder("gen-left", "left", "k-left")],
    )


def test_each_bus_is_drawn_below_the_generator_that_feeds_it() -> None:
    written = in_authors_order(overview(crosswise()))
    assert buses(written) == [["right", "left"]]
    assert crossings(written) == 1
    drawn = ordered(written)
    assert buses(drawn) == [["left", "right"]]
    assert crossings(drawn) == 0
    labels = {key.id: at for key, at, _ in lay_out([overview(crosswise())])[0].labels}
    assert labels["left"] < labels["right"]


def test_sources_stay_in_the_authors_order_even_if_their_wires_cross() -> None:
    written = in_authors_order(
        overview(
            catalogue(
                sources=[
                    {"id": f"gen-{n}", "name": f"Generator {n}", "kind": "generator", "volts": 28}
                    for n in (2, 1)
                ],
                buses=[{"id": "bus-1", "name": "Bus 1"}, {"id": "bus-2", "name": "Bus 2"}],
                devices=[device("k", "Tie", "contactor"), device("fuse", "Link", "fuse-link")],
                feeders=[
                    feeder("gen-1", "bus-1", "fuse"),
                    feeder("gen-2", "bus-2", "fuse"),
                    feeder("bus-1", "bus-2", "k", tie=True),
                ],
            )
        )
    )
    sources = [i.id for row in ordered(written).rows for i in row if i.kind == "source"]
    assert sources == ["gen-2", "gen-1"]
    assert crossings(ordered(written)) == 1


@pytest.mark.parametrize("bus", [b.id for b in twin().buses])
def test_the_authors_order_stays_where_no_crossing_is_saved(bus: str) -> None:
    written = in_authors_order(feed(twin(), [bus]))
    drawn = ordered(written)
    assert drawn == written or crossings(drawn) < crossings(written)


@pytest.mark.parametrize(("size", "seed", "most"), [(5, 1, 0.2), (20, 4, 0.2), (80, 4, 0.15)])
def test_most_crossings_of_a_net_written_in_any_order_are_saved(
    size: int, seed: int, most: float
) -> None:
    written = in_authors_order(overview(made_up(size, seed)))
    drawn = ordered(written)
    assert crossings(drawn) <= most * crossings(written)
    assert {i.name for row in drawn.rows for i in row} == {
        i.name for row in written.rows for i in row
    }


def test_sweeps_from_below_save_crossings_that_a_sweep_from_above_leaves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nets = [in_authors_order(overview(made_up(20, seed))) for seed in range(1, 9)]
    every = sum(crossings(ordered(net)) for net in nets)
    monkeypatch.setattr(order, "SWEEPS", 1)
    assert every < 0.9 * sum(crossings(ordered(net)) for net in nets)


def test_neighbours_change_places_where_the_mean_of_their_wires_misleads(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nets = [in_authors_order(overview(made_up(20, seed))) for seed in range(1, 9)]
    every = sum(crossings(ordered(net)) for net in nets)
    monkeypatch.setattr(order, "_swap", lambda *_: None)
    assert every < 0.95 * sum(crossings(ordered(net)) for net in nets)
