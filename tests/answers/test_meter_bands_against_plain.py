"""Random nets that charge, share and sag: what meters may show, as the plain solver has it."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

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

    def one_amp(self, node: str) -> list[plain_amps.Flow]:
        """What flows for an ampere drawn at a node."""
        if node not in self._one_amp:
            flows = plain_amps._from_sources(self.scenario, node, Fraction(1))
            self._one_amp[node] = list(flows)
        return self._one_amp[node]

    def of_one_amp(self, source: str, node: str) -> Fraction:
        """What a source gives of it."""
        return given_by(source, self.one_amp(node))


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
    scenario, flows = state.scenario, state.flows
    if any(s == source and amps is None for s, _, amps in flows):
        return None
    fed = {node for _, node, amps in flows if amps}
    computed = given_by(source, flows)
    least = most = computed
    for battery, (low, high) in state.charging.items():
        part = state.of_one_amp(source, battery) - (battery == source)
        least += min(part * low, part * high)
        most += max(part * low, part * high)
        fed |= {node for _, node, _ in state.one_amp(battery) if high}
    for taken, each in state.divisions:
        now = sum((a * state.of_one_amp(source, n) for n, a in taken), Fraction())
        all_there = [a * state.of_one_amp(source, n) for n, a in each]
        least += min(all_there) - now
        most += max(all_there) - now
        fed |= {n for n, _ in each}
    sharing = {
        s
        for node in fed
        for s in plain_amps._carriers(scenario, node)
        if len(plain_amps._carriers(scenario, node)) > 1
    }
    off = tenth(scenario, source) if source in sharing else Fraction()
    # No source gives less than nothing of what it shares, or more than all of it.
    shared = [flow for flow in flows if len(plain_amps._carriers(scenario, flow[1])) > 1]
    varying = sum((high for _, high in state.charging.values()), Fraction())
    for _, each in state.divisions:
        here = [a for n, a in each if len(plain_amps._carriers(scenario, n)) > 1]
        varying += max(here, default=Fraction())
    all_of_it = sum((amps or Fraction() for _, _, amps in shared), varying)
    own = given_by(source, shared)
    less, more = min(off, own + varying), min(off, all_of_it - own)
    for converter in sharing:
        record = scenario.sources[converter]
        if record["kind"] != "converter":
            continue
        for node, share in plain_amps._inputs(scenario, converter):
            if not plain_amps._volts_left(scenario, node, converter):
                continue
            for_one = share * plain_amps._for_one(scenario, converter, node)
            besides = min(tenth(scenario, converter), all_of_it) * for_one
            less += abs(state.of_one_amp(source, node)) * besides
            more += abs(state.of_one_amp(source, node)) * besides
    low_end = max(Fraction(), least - less) if least >= 0 else least - less
    high_end = min(Fraction(), most + more) if least < 0 and most <= 0 else most + more
    return computed, low_end, high_end


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
