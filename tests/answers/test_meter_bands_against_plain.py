"""Random nets that charge, share and sag: what meters may show, as the plain solver has it."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.drop import losses
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.metered import meter_at, metered
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests import plain, plain_amps
from tests.answers.test_loads import loaded
from tests.random_nets import AIRFRAMES, Draw, Raw
from tests.samples import sample_size, thorough

SAMPLE = 300


@st.composite
def with_bands(draw: Draw) -> Raw:
    """A random net whose batteries charge, and some of whose sources have ranges of volts."""
    catalogue: Raw = draw(loaded())
    for source in catalogue["sources"]:
        if source["kind"] == "battery":
            source["charge-amps"] = draw(st.sampled_from([[0, 60], [5, 40], [10, 10]]))
        elif draw(st.booleans()):
            source["amps"] = draw(st.sampled_from([50, 100]))
    for item in catalogue["equipment"]:
        if draw(st.integers(0, 9)) and not isinstance(item["amps"], int):
            item["amps"] = 11.5
    return catalogue


@st.composite
def with_ranges(draw: Draw) -> Raw:
    catalogue: Raw = draw(with_bands())
    for source in catalogue["sources"]:
        if source["kind"] != "converter":
            # Near enough for their ranges to overlap.
            source["volts"] = draw(st.sampled_from([23, 24, 24.3, 25, 28]))
        if draw(st.integers(0, 5)):
            off = draw(st.sampled_from([(0.5, 0), (2, 1.2), (2, 1.2), (0, 6.25), (0.4, 0.1)]))
            source["volts-range"] = [source["volts"] - off[0], source["volts"] + off[1]]
    catalogue["indications"] = [
        {"id": f"v-{bus['id']}", "name": bus["id"], "kind": "voltmeter", "at": bus["id"]}
        for bus in (*catalogue["buses"], *catalogue["sources"])
    ]
    for bus in (*catalogue["buses"], *catalogue["sources"]):
        limits = st.sampled_from([22, 23.5, 24, 24.5, 26, 28, 28.5])
        terms = {side: {bus["id"]: draw(limits)} for side in ("volts-above", "volts-below")}
        for lamp, lit_when in (
            ("above", {"volts-above": terms["volts-above"]}),
            ("below", {"volts-below": terms["volts-below"]}),
            ("either", [{side: limit} for side, limit in terms.items()]),
        ):
            catalogue["indications"].append(
                {
                    "id": f"{lamp}-{bus['id']}",
                    "name": f"{lamp} {bus['id']}",
                    "kind": "lamp",
                    "lit-when": lit_when,
                }
            )
    return catalogue


Band = tuple[Fraction, Fraction, Fraction] | None
"""What a source gives, at the least, and at the most; None is not known."""


class State:
    """What flows and what varies, with every source at the volts that the scenario has."""

    def __init__(self, scenario: plain.Scenario) -> None:
        self.scenario = scenario
        self.flows = list(plain_amps._flows(scenario))
        self.charging = charging(scenario)
        self.divisions = list(plain_amps.any_division(scenario))
        self._one_amp: dict[str, list[plain_amps.Flow]] = {}
        self._taken: dict[str, list[dict[str, Fraction]]] = {}
        nodes = (*scenario.sources, *scenario.buses)
        self.not_shared = plain_amps._not_shared(scenario)
        self.carriers = {node: plain_amps._carriers(scenario, node) for node in nodes}
        self.in_any_way = {
            node: plain_amps._in_any_way(scenario, [*parts])
            for node, parts in self.carriers.items()
        }
        self.shared = {
            node
            for node, parts in self.carriers.items()
            if node not in self.not_shared and len(parts) > 1 and not self.in_any_way[node]
        }

    def one_amp(self, node: str) -> list[plain_amps.Flow]:
        """What flows for an ampere drawn at a node."""
        if node not in self._one_amp:
            flows = plain_amps._from_sources(self.scenario, node, Fraction(1))
            self._one_amp[node] = list(flows)
        return self._one_amp[node]

    def taken_by(self, converter: str) -> list[dict[str, Fraction]]:
        """What a converter may take at which nodes for an ampere that it gives: all from any."""
        if converter not in self._taken:
            self._taken[converter] = self._taken_by(converter)
        return self._taken[converter]

    def _taken_by(self, converter: str) -> list[dict[str, Fraction]]:
        scenario = self.scenario
        if (
            scenario.sources[converter]["kind"] != "converter"
            or converter not in scenario.reached
            or plain_amps._is_circular(scenario, converter)
        ):
            return [{}]
        near = plain_amps.any_input(scenario, converter)
        ways = [[(node, Fraction(1))] for node in near]
        found: list[dict[str, Fraction]] = []
        for parts in ways or [plain_amps._inputs(scenario, converter)]:
            found.append({})
            for node, part in parts:
                if plain_amps._volts_left(scenario, node, converter):
                    taken = part * plain_amps._for_one(scenario, converter, node)
                    found[-1][node] = found[-1].get(node, Fraction()) + taken
        return found


class Given:
    """What a source gives of an ampere drawn at a node, at the most, or at the least.

    Sources share by rating, or in any way: this source with others, and converters.
    """

    def __init__(self, state: State, source: str, most: bool, any_way: tuple[bool, bool]) -> None:
        self.state, self.source, self.most = state, source, most
        self.any_source, self.any_converter = any_way
        self.pick = max if most else min
        self._at: dict[str, Fraction] = {}

    def at(self, node: str) -> Fraction:
        if node not in self._at:
            self._at[node] = self._of_one_amp(node)
        return self._at[node]

    def _of_one_amp(self, node: str) -> Fraction:
        if node in self.state.not_shared:
            return Fraction()
        parts, in_any_way = self.state.carriers[node], self.state.in_any_way[node]
        own = parts.get(self.source, Fraction())
        if (self.any_source or in_any_way) and 0 < own < 1:
            own = Fraction(self.most)
        taken = [self.pick(self.by(other)) for other in parts]
        if self.any_converter or in_any_way:
            return own + self.pick(taken, default=Fraction())
        return own + sum(
            (part * amps for part, amps in zip(parts.values(), taken, strict=True)), Fraction()
        )

    def by(self, converter: str) -> list[Fraction]:
        """Of an ampere that a converter gives; 0 of another source."""
        return [
            sum((amps * self.at(node) for node, amps in taken.items()), Fraction())
            for taken in self.state.taken_by(converter)
        ]

    def end(self) -> Fraction:
        """Of all that is drawn, charges batteries, or may be drawn elsewhere."""
        state = self.state
        total = sum(
            (amps * self.at(n) for n, amps in plain_amps._drawn(state.scenario) if amps), Fraction()
        )
        for battery, span in state.charging.items():
            part = self.at(battery) - (battery == self.source)
            total += self.pick(part * amps for amps in span)
        for taken, each in state.divisions:
            total -= sum((amps * self.at(node) for node, amps in taken), Fraction())
            total += self.pick(amps * self.at(node) for node, amps in each)
        return total

    def off(self) -> Fraction:
        """By how much it is off while sources give a tenth of their rating more or less."""
        scenario, shared = self.state.scenario, self.state.shared
        carriers = {node: {*self.state.carriers[node]} for node in shared}
        off = Fraction()
        if any(self.source in those for those in carriers.values()) and not self.any_source:
            off += tenth(scenario, self.source)
        left = set().union(*carriers.values()) if not self.any_converter else set()
        while left:
            # What one of these gives more, the others give less.
            together = {left.pop()}
            for _ in shared:
                for those in carriers.values():
                    together |= those if those & together else set()
            left -= together
            by = {s: self.by(s) for s in together}
            off += min(
                sum(tenth(scenario, s) * max(abs(one - k) for one in by[s]) for s in together)
                for ks in by.values()
                for k in ks
            )
        return off


def bands(scenario: plain.Scenario, sources: Iterable[str]) -> dict[str, Band]:
    """Of each source, anywhere in the ranges."""
    states = [State(moved) for moved in plain_amps.anywhere_in_range(scenario)]
    return {source: band([at_volts(state, source) for state in states]) for source in sources}


def band(found: list[Band]) -> Band:
    known = [one for one in found if one is not None]
    if len(known) < len(found):
        return None
    return known[0][0], min(low for _, low, _ in known), max(high for _, _, high in known)


def at_volts(state: State, source: str) -> Band:
    """The same with every source at the volts of one state."""
    flows = state.flows
    if any(s == source and amps is None for s, _, amps in flows):
        return None
    lows, highs = [], []
    for any_way in product((False, True), repeat=2):
        least, most = (Given(state, source, end, any_way) for end in (False, True))
        lows.append(least.end() - least.off())
        highs.append(most.end() + most.off())
    return given_by(source, flows), max(lows), min(highs)


def given_by(source: str, flows: Iterable[plain_amps.Flow]) -> Fraction:
    return sum((amps or Fraction() for s, _, amps in flows if s == source), Fraction())


def charging(scenario: plain.Scenario) -> dict[str, tuple[Fraction, Fraction]]:
    """By battery on line that others feed, what it takes."""
    found = {}
    for name, record in scenario.sources.items():
        carriers = plain_amps._carriers(scenario, name)
        if record["kind"] == "battery" and name in scenario.reached and name not in carriers:
            low, high = (Fraction(str(end)) for end in record["charge-amps"])
            if carriers:
                found[name] = low, high
    return found


def tenth(scenario: plain.Scenario, source: str) -> Fraction:
    return Fraction(str(scenario.sources[source].get("amps") or 0)) / 10


def test_what_a_loadmeter_may_show_is_as_the_plain_solver_has_it() -> None:
    counts: Counter[str] = Counter()

    @thorough(3 * SAMPLE)
    @given(
        with_ranges(),
        st.sampled_from(AIRFRAMES),
        st.integers(0, 2**32).map(random.Random),
    )
    def compare(catalogue: Raw, airframe: str, chance: random.Random) -> None:
        network = build(Catalogue.model_validate(catalogue), airframe)
        conditions = [c["id"] for c in catalogue["conditions"]]
        drawn = [
            Scenario(chance.choice(conditions), tuple(chance.sample(network.faults, size)))
            for size in (0, 0, 1, 1, 1)
        ]
        amps = draws(solve(network, scenarios_of(drawn)).after)
        shown = {source: metered(amps, meter_at(network, source)) for source in network.sources}
        for k, scenario in enumerate(drawn):
            before = plain.settled_condition(catalogue, scenario.condition, airframe)
            after = plain.after_failure(before, scenario.faults)
            expected_of = bands(after, shown)
            nominal = State(after)
            for source, found in shown.items():
                expected = expected_of[source]
                here = [tuple(flow) for flow, mask in found.flows.items() if mask >> k & 1]
                if found.unsure >> k & 1:
                    assert expected is None, (scenario, source)
                    counts["not known"] += 1
                    continue
                assert here == [expected], (scenario, source)
                counts["charging"] += bool(nominal.charging)
                counts["band"] += here[0][1] != here[0][2]
                counts["divided"] += bool(nominal.divisions)
                counts["by volts"] += at_volts(nominal, source) != expected

    compare()
    assert all(counts[case] for case in ("charging", "band", "not known", "by volts", "divided")), (
        counts
    )


def test_what_a_voltmeter_may_show_is_as_the_plain_solver_has_it() -> None:
    ranges = 0

    @thorough(SAMPLE)
    @given(with_ranges(), st.sampled_from(AIRFRAMES), st.integers(0, 2**32).map(random.Random))
    def compare(catalogue: Raw, airframe: str, chance: random.Random) -> None:
        nonlocal ranges
        network = build(Catalogue.model_validate(catalogue), airframe)
        condition = catalogue["conditions"][0]["id"]
        drawn = [
            Scenario(condition, tuple(chance.sample(network.faults, size))) for size in (0, 1, 1)
        ]
        before = plain.settled_condition(catalogue, condition, airframe)
        for loss in losses(solve(network, scenarios_of(drawn))):
            answer = plain.compare(before, plain.after_failure(before, loss.failed))
            found = {i: str(shown) for i, shown in loss.readings.items()}
            assert found == answer["readings"], loss.failed
            ranges += sum("to" in shown for shown in found.values())

    compare()
    assert ranges > sample_size(SAMPLE)
