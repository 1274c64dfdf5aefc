"""What the same failure shows otherwise on the meters, lamps and flags of two airframes."""

from __future__ import annotations

from sitegen.answers.differences import differences
from sitegen.answers.reading_changes import ReadingChange, reading_changes
from sitegen.answers.readings import LIT, UNLIT, Reading
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.terminal.differences_text import differences_json, differences_text
from tests.nets import expand

NET = """
sources: {gen: {volts: 28, amps: 100}, other: {volts: 28, amps: 100}}
buses: [main, side]
devices: {tie: {kind: relay, closes-when: {%s: [%s]}}}
feeders: [gen > main, other > side, {path: side > tie > main}]
equipment: {radio: {supplies: [{bus: main}], amps: 40}, lamp: {supplies: [{bus: side}], amps: 10}}
indications:
  main-volts: {kind: voltmeter, at: main}
  main-off: {kind: lamp, lit-when: [{dead: [main]}]}
  other-load: {kind: loadmeter, at: other}
  other-off: {kind: lamp, lit-when: [{dead: [other]}]}
"""


def fleet(closes: str, at: str) -> tuple[Network, Network]:
    """Two airframes, of which the second alone has the tie, closed while `at` is so."""
    raw = expand(NET % (closes, at))
    raw["airframes"] = [{"id": "first", "name": "First"}, {"id": "second", "name": "Second"}]
    raw["feeders"][-1]["fitted-to"] = ["second"]
    if closes == "live":
        del raw["feeders"][0]
    catalogue = Catalogue.model_validate(raw)
    return build(catalogue, "first"), build(catalogue, "second")


def test_each_indication_that_reads_otherwise_after_a_failure_of_both_is_named() -> None:
    one, other = fleet("dead", "gen")
    found = list(reading_changes(one, other))
    volts = ("main-volts", Reading("figure", 0, "V"), Reading("figure", 28, "V"))
    load = ("other-load", Reading("figure", 10, "%"), Reading("figure", 50, "%"))
    lost = ReadingChange("flight", ("gen", "lost"), (volts, ("main-off", LIT, UNLIT), load))
    assert lost in found
    # A dead bus is dead on both.
    assert ("main", "dead") not in {c.fault for c in found}
    text = list(differences_text(one, other, differences(one, other), found))
    heading = text.index("\nThe same failure reads differently: First | Second")
    at = text.index("  gen lost, flight", heading)
    assert text[at + 1 : at + 3] == ["    main-volts: 0 V | 28 V", "    main-off: lit | unlit"]
    written = differences_json(differences(one, other), found)["readings"]
    shown = {"main-volts": ["0 V", "28 V"], "main-off": ["lit", "unlit"]}
    assert {**shown, "other-load": ["10 %", "50 %"]} in [w["shown"] for w in written]


def test_what_reads_otherwise_with_nothing_failed_is_no_consequence_of_a_failure() -> None:
    # On the first alone nothing feeds the main bus, whatever fails.
    one, other = fleet("live", "other")
    named = {i for c in reading_changes(one, other) for i, _, _ in c.shown}
    assert not named & {"main-volts", "main-off"}
    assert list(reading_changes(one, one)) == []
