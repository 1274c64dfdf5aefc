"""The drawing in words: every run of the network once, each bus where power first reaches it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest

from sitegen.answers.drop import drop
from sitegen.catalogue.read import read
from sitegen.output.site import build_site
from sitegen.pages.drawing_states import drawn_branches, parts_in_order, states
from sitegen.pages.fragments.drawing_in_words import drawing_words, reading_order
from sitegen.pages.fragments.failure_steps import change
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from tests.pages.pages_sample import reading, sample


def networks() -> Iterator[Network]:
    small = reading(sample()).catalogue
    demo = read(demo_catalogue()).catalogue
    for catalogue in (small, demo):
        assert catalogue
        yield from (build(catalogue, airframe.id) for airframe in catalogue.airframes)


@pytest.fixture(params=list(networks()), ids=lambda n: f"{n.catalogue.aircraft.name} {n.airframe}")
def network(request: pytest.FixtureRequest) -> Network:
    found: Network = request.param
    return found


class Tree(HTMLParser):
    """Each item's own text, and the item that it stands in."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.items: list[tuple[str, int | None]] = []
        self.open: list[int] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "li":
            self.items.append(("", self.open[-1] if self.open else None))
            self.open.append(len(self.items) - 1)

    def handle_endtag(self, tag: str) -> None:
        if tag == "li":
            self.open.pop()

    def handle_data(self, data: str) -> None:
        text, within = self.items[self.open[-1]]
        self.items[self.open[-1]] = text + data, within


def told(network: Network, condition: str, *faults: tuple[str, str]) -> Tree:
    wiring = drawn_branches(network.catalogue)
    number = {p: k for k, p in enumerate(parts_in_order(network.nodes, wiring))}
    found = states(network, wiring, drop(network, condition, faults))
    return Tree(
        drawing_words(network, wiring, number, set(network.nodes)).with_states(
            [(s,) for s in found]
        )
    )


def test_every_branch_is_listed_once_and_no_other(network: Network) -> None:
    path = reading_order(network, drawn_branches(network.catalogue), set(network.nodes))
    told_of = Counter(way.number for ways in path.steps.values() for way in ways)
    assert told_of == Counter(range(len(network.branches)))
    for node, ways in path.steps.items():
        for way in ways:
            run = network.branches[way.number]
            assert {node, way.to} == {run.origin, run.target}
            if run.one_way or run.into_converter:
                assert node == run.origin


def test_every_source_and_bus_is_walked_on_from_one_place(network: Network) -> None:
    path = reading_order(network, drawn_branches(network.catalogue), set(network.nodes))
    places = Counter(path.roots) + Counter(
        way.to for ways in path.steps.values() for way in ways if way.onward
    )
    assert places == Counter(network.nodes)
    makers = [s.id for s in network.catalogue.sources if not s.fed_from]
    assert list(path.roots[: len(makers)]) == makers


def test_the_list_says_the_runs_of_the_network_with_the_state_of_each_bus(
    network: Network,
) -> None:
    condition = network.catalogue.conditions[0].id
    loss = drop(network, condition, ())
    lines = [text for text, _ in told(network, condition).items]
    for run in network.branches:
        names = [network.names[d] for d in run.through]
        ends = (network.names[run.target], network.names[run.origin])
        found = [
            line
            for line in lines
            if all(name in line for name in names)
            and any(re.search(rf"to {re.escape(end)} (live|dead|on battery)", line) for end in ends)
        ]
        assert found, (run.origin, run.target)
    for bus in network.catalogue.buses:
        state = loss.nodes[bus.id]
        word = "dead" if not state.live else "on battery only" if state.battery else "live"
        says = [line for line in lines if re.search(rf"to {re.escape(bus.name)} ", line)]
        assert says
        assert all(f"to {bus.name} {word}" in line for line in says)


def test_what_a_source_feeds_is_within_its_item() -> None:
    network = next(networks())
    tree = told(network, "flight", ("k-1", "open"))
    items = tree.items
    left = next(k for k, (text, _) in enumerate(items) if "to Left bus" in text)
    assert items[left][0].startswith("through Generator 1 contactor failed, open to Left bus dead")
    within = items[left][1]
    assert within is not None
    assert items[within] == ("Generator 1 live", None)


def test_a_step_says_what_opens_and_what_dies() -> None:
    network = next(networks())
    normal, lost = drop(network, "flight", ()), drop(network, "flight", [("gen-1", "lost")])
    assert change(network, normal, lost, [("gen-1", "lost")]) == (
        "Opens: Generator 1 contactor; dead: Left bus."
    )
    assert change(network, lost, lost, [("gen-1", "lost")]) == (
        "Nothing else changes in the drawing."
    )


def test_with_one_condition_the_drawing_of_a_bus_still_shows_its_states() -> None:
    catalogue = sample()
    catalogue["conditions"] = catalogue["conditions"][:1]
    page = dict(build_site(reading(catalogue)).files)["early/bus-left.html"]
    assert isinstance(page, str)
    assert 'class="picture narrow show-0"' in page


def test_a_legend_names_only_the_states_that_its_drawing_shows() -> None:
    files = dict(build_site(reading(sample())).files)
    page = files["early/bus-left.html"]
    assert isinstance(page, str)
    legend = page.split("<summary>Legend</summary>")[1].split("</details>")[0]
    assert "Dead" in legend
    assert "Failed itself" not in legend
    failure = files["early/failure-left.html"]
    assert isinstance(failure, str)
    assert "Failed itself" in failure.split("<summary>Legend</summary>")[1].split("</details>")[0]
