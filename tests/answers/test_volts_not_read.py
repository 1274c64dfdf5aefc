"""A failure is found wherever in their `volts-range` the sources are, though no volts are read."""

from __future__ import annotations

import random

from sitegen.answers.drop import Loss, losses
from sitegen.answers.observations import Observation
from sitegen.answers.readings import LIT
from sitegen.answers.troubleshoot import Diagnosis, troubleshoot
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.terminal.diagnosis_text import diagnosis_text
from tests.nets import network
from tests.nets_by_volts import SENSED, two_batteries
from tests.samples import sample_size

WITH_LAMP_LIT = [
    Observation("gen-off", LIT),
    Observation("radio", "works"),
    Observation("fan", "works"),
]


def by_failed(found: Diagnosis) -> dict[str, dict[str, float]]:
    """By component that alone explains it, in order, the volts of the sources."""
    return {
        failed[0][0]: dict(volts)
        for failed, volts in zip(found.candidates, found.volts, strict=True)
        if len(failed) == 1
    }


def test_a_cause_at_other_volts_is_listed_after_one_that_fits_at_the_catalogue_s() -> None:
    """The radio needs 25 V: with the generator lost it works on a battery that is well charged."""
    net = network(SENSED)
    found = by_failed(troubleshoot(net, "flight", WITH_LAMP_LIT))
    assert list(found.items()) == [
        ("sense", {}),
        ("cb-sense", {}),
        ("gen", {"bat": 25}),
        ("k-gen", {"bat": 25}),
    ]


def test_the_answer_says_at_which_volts_only_of_those_that_are_at_others() -> None:
    lines = list(
        diagnosis_text(network(SENSED), troubleshoot(network(SENSED), "flight", WITH_LAMP_LIT))
    )
    assert "One failure: 4 explain it" in lines
    named = [line.strip() for line in lines if line.startswith("  ") and "would" not in line][:4]
    assert named == [
        "sense shorted",
        "cb-sense open",
        "gen lost (with bat at 25 V)",
        "k-gen open (with bat at 25 V)",
    ]


def test_what_only_tells_the_volts_of_a_source_is_no_check() -> None:
    """The clock needs 25 V of the battery: one cause is at 24 V, the other fits at 25 V alone."""
    clock = "equipment:\n  clock: {min-volts: 25, supplies: [{bus: hot}]}"
    text = SENSED.replace("equipment:", clock).replace("[main, sense]", "[main, sense, hot]")
    text = text.replace("cb-sense: breaker", "cb-sense: breaker\n  d: {kind: diode, drop-volts: 0}")
    net = network(text.replace("bat > main,", "bat > d > main, bat > hot,"))
    found = troubleshoot(net, "flight", WITH_LAMP_LIT)
    works = {
        f[0][0]: "clock" not in loss.lost + loss.not_powered
        for f, loss in zip(found.candidates, found.losses, strict=True)
        if len(f) == 1
    }
    assert works == {"sense": False, "cb-sense": False, "gen": True, "k-gen": True}
    # A battery at 25 V lets it work with any of these.
    also = [*WITH_LAMP_LIT, Observation("clock", "works")]
    assert by_failed(troubleshoot(net, "flight", also)).keys() == works.keys()
    assert "clock" not in {c.subject for c in found.next_checks}
    # What does not go by the battery's volts still distinguishes them.
    assert {"v", "cb-sense"} <= {c.subject for c in found.next_checks}


def test_a_pair_that_holds_a_cause_at_other_volts_is_none() -> None:
    found = troubleshoot(network(SENSED), "flight", WITH_LAMP_LIT)
    assert not any(len(failed) > 1 and ("gen", "lost") in failed for failed in found.candidates)


def test_where_the_volts_alone_explain_it_no_failure_at_the_same_volts_is_listed() -> None:
    """On a battery at 24.9 V the radio is dead with nothing failed; a dead bus is no cause."""
    net = network(SENSED.replace("volts: 24,", "volts: 25.5,"))
    seen = [Observation("radio", "dead"), Observation("fan", "works")]
    found = troubleshoot(net, "battery", seen, order=1)
    assert found.healthy_volts
    assert (("sense", "dead"),) in troubleshoot(net, "battery", seen[1:], order=1).candidates
    assert list(by_failed(found)) == ["radio.breaker"]


def test_where_a_healthy_aircraft_fits_at_its_own_volts_a_failure_may_be_at_others() -> None:
    found = troubleshoot(network(SENSED), "flight", [Observation("radio", "works")])
    assert found.nothing_failed_fits
    assert not found.healthy_volts
    assert by_failed(found)["gen"] == {"bat": 25}


def seen_without_meters(net: Network, loss: Loss, chance: random.Random) -> list[Observation]:
    """All lamps, and most of what works or is dead."""
    dead = {*loss.lost, *loss.not_powered}
    items = [Observation(e, "dead" if e in dead else "works") for e in net.equipment]
    buses = [
        Observation(n, "works" if state.live else "dead")
        for n, state in loss.nodes.items()
        if n not in net.sources
    ]
    lamps = [
        Observation(i.id, loss.readings[i.id])
        for i in net.catalogue.indications
        if i.kind == "lamp"
    ]
    return [o for o in (*items, *buses) if chance.random() < 0.7] + lamps


def test_whatever_the_volts_the_failure_that_is_seen_is_listed() -> None:
    chance, elsewhere = random.Random(22), 0
    for _ in range(sample_size(150)):
        net = two_batteries(chance)
        for _ in range(6):
            fault = chance.choice(net.combined_faults)
            aircraft = net.at_volts(
                {
                    s: chance.randint(low, high) / 1000
                    for s, (low, high) in net.millivolt_ranges.items()
                }
            )
            [loss] = losses(solve(aircraft, scenarios_of([Scenario("flight", (fault,))])))
            seen = seen_without_meters(net, loss, chance)
            found = troubleshoot(net, "flight", seen, order=1)
            if not found.nothing_failed_fits:
                assert (fault,) in found.candidates, (fault, seen, aircraft.millivolts)
                elsewhere += bool(found.volts[found.candidates.index((fault,))])
    assert elsewhere > sample_size(150) // 20
