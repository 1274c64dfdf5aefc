"""What an author writes has an effect: fields of other kinds, resets, thresholds, groups."""

from __future__ import annotations

import pytest

from tests.catalogue.catalogue_sample import findings_of, only_finding

K_GEN = "kind: contactor, closes-when: {switches"
GEN = "kind: generator, volts: 28.5"
SHED = "shed: [strobe-left]"
AUTOPILOT = "requires: [{any: [att-1, att-2]}]"
FUNCTION = "provided-by: [att-1, att-2]"


# fields of other kinds


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "kind: diode",
            "kind: diode, ¤rides-through: true",
            "diode d-ess: `rides-through` has no effect; it is for a contactor, a relay or a"
            " switch.",
        ),
        (
            "kind: fuse-link",
            "kind: fuse-link, ¤drop-volts: 0.7",
            "fuse-link fl-ess: `drop-volts` has no effect; it is for a diode.",
        ),
        (
            GEN,
            f"{GEN}, ¤synchronised: pair",
            "source gen: `synchronised` has no effect; it is for an AC source.",
        ),
    ],
)
def test_a_field_of_another_kind_has_no_effect(old: str, new: str, message: str) -> None:
    finding = only_finding((old, new))
    assert (finding.kind, finding.message) == ("advice", message)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("kind: contactor", "kind: contactor, rides-through: true"),
        ("kind: relay", "kind: relay, rides-through: true"),
        ("kind: diode", "kind: diode, drop-volts: 0.4"),
        ("current: ac, amps: 2", "current: ac, synchronised: pair, amps: 2"),
    ],
)
def test_a_field_of_its_own_kind_is_fine(old: str, new: str) -> None:
    assert not findings_of((old, new))


def test_a_diode_does_not_drop_seven_volts() -> None:
    finding = only_finding(("kind: diode", "kind: diode, drop-volts: ¤7"))
    assert finding.message == "diode d-ess: 7 V is an unusual figure for `drop-volts`."


@pytest.mark.parametrize("field", ["on-loss", "if-it-comes-on"])
@pytest.mark.parametrize("text", ['""', '"  "'])
def test_a_text_of_what_to_do_is_not_empty(field: str, text: str) -> None:
    finding = only_finding((AUTOPILOT, f"{AUTOPILOT}\n    ¤{field}: {text}"))
    assert (finding.kind, finding.message) == ("advice", f"equipment pilot: `{field}` is empty.")


# thresholds


@pytest.mark.parametrize(
    ("term", "holds"),
    [
        ("volts-above: {main: ¤28.5}", "never"),
        ("volts-above: {bat: ¤24}", "never"),
        ("volts-below: {main: ¤0}", "never"),
        ("volts-below: {main: ¤280}", "always"),
        ("volts-below: {ac: ¤115.5}", "always"),
    ],
)
def test_a_threshold_that_no_source_passes_is_advice(term: str, holds: str) -> None:
    finding = only_finding((K_GEN, f"kind: contactor, closes-when: {{{term}, switches"))
    assert finding.kind == "advice"
    assert finding.message.endswith(f"so this term {holds} holds.")


def test_the_volts_of_a_threshold_are_those_of_the_sources_of_its_current() -> None:
    finding = only_finding(("{open: [k-gen]}", "{open: [k-gen], volts-above: {ac: ¤200}}"))
    assert finding.message == (
        "indication gen-off: `ac` shows 0 to 115 V, so this term never holds."
    )


@pytest.mark.parametrize(
    "term",
    [
        "volts-above: {main: 28.4}",
        "volts-above: {main: 0}",
        "volts-below: {main: 28.5}",
        "volts-below: {bat: 22}",
        "volts-above: {ac: 100}",
    ],
)
def test_a_threshold_between_dead_and_the_highest_source_is_fine(term: str) -> None:
    found = findings_of((K_GEN, f"kind: contactor, closes-when: {{{term}, switches"))
    assert "thresholds-can-be-passed" not in [finding.rule for finding in found]


def test_equipment_can_have_the_volts_that_it_needs() -> None:
    finding = only_finding((AUTOPILOT, f"{AUTOPILOT}\n    min-volts: ¤280"))
    assert finding.message == (
        "equipment pilot: no supply ever has more than 28.5 V, so it never works."
    )
    assert not findings_of((AUTOPILOT, f"{AUTOPILOT}\n    min-volts: 28.5"))


# resets


@pytest.mark.parametrize(
    ("kind", "changes", "message"),
    [
        (
            "error",
            [(SHED, f"{SHED}, reset: [¤fl-ess]")],
            "`fl-ess` is a fuse link: what has blown is replaced, not reset.",
        ),
        (
            "error",
            [
                ("breaker: {name: AP", "fuse: {name: AP"),
                (SHED, f"{SHED}, reset: [¤pilot.fuse]"),
            ],
            "`pilot.fuse` is a fuse: what has blown is replaced, not reset.",
        ),
        (
            "error",
            [(SHED, f"{SHED}, pulled: [cb-inv], reset: [¤cb-inv]")],
            "`cb-inv` is both pulled and reset.",
        ),
        (
            "advice",
            [(SHED, f"{SHED}, reset: [¤gen]")],
            "`gen` has failed, so a reset has no effect.",
        ),
        (
            "advice",
            [(SHED, f"{SHED}, reset: [¤k-gen]")],
            "`k-gen` never trips, so a reset has no effect.",
        ),
        (
            "advice",
            [(SHED, f"{SHED}, reset: [¤cb-strobe]")],
            "`cb-strobe` is in no feeder, so no fault trips it and a reset has no effect.",
        ),
        (
            "advice",
            [(SHED, f"{SHED}, reset: [¤pilot.breaker]")],
            "`pilot.breaker` is in no feeder, so no fault trips it and a reset has no effect.",
        ),
        (
            "advice",
            [(SHED, f"{SHED}, reset: [¤cb-inv]")],
            "`cb-inv` is in no feeder, so no fault trips it and a reset has no effect.",
        ),
    ],
)
def test_what_never_trips_or_is_blown_pulled_or_failed_is_not_reset(
    kind: str, changes: list[tuple[str, str]], message: str
) -> None:
    finding = only_finding(*changes)
    assert (finding.kind, finding.message) == (kind, f"failure gen-out: {message}")


@pytest.mark.parametrize(
    "changes",
    [
        [(SHED, f"{SHED}, reset: [bat, inv]")],
        [("kind: fuse-link", "kind: breaker"), (SHED, f"{SHED}, reset: [fl-ess]")],
        [("kind: contactor", "kind: contactor, protective: true"), (SHED, "reset: [k-gen]")],
    ],
    ids=["source", "breaker in a feeder", "protective contactor"],
)  # fmt: skip
def test_what_can_trip_or_stall_can_be_reset(changes: list[tuple[str, str]]) -> None:
    assert not [f for f in findings_of(*changes) if "reset" in f.message]


# functions


def test_a_group_does_not_need_more_than_its_members() -> None:
    finding = only_finding((FUNCTION, "provided-by: [att-1, {any: [att-2, pilot], need: ¤3}]"))
    assert finding.message == "function attitude: a group needs 3 and has 2 members."


def test_a_group_within_a_group_does_not_either() -> None:
    nested = "provided-by: [att-1, att-2, {all: [{any: [pilot], need: ¤2}]}]"
    finding = only_finding((FUNCTION, nested))
    assert finding.message == "function attitude: a group needs 2 and has 1 member."


@pytest.mark.parametrize("word", ["any", "all"])
def test_a_group_is_not_empty(word: str) -> None:
    finding = only_finding((FUNCTION, f"provided-by: [att-1, att-2, {{{word}: ¤[]}}]"))
    assert finding.message == f"function attitude: `{word}` needs 1 entry at least."


def test_all_members_of_a_group_have_no_number_to_need() -> None:
    finding = only_finding((FUNCTION, "provided-by: [{all: [att-1, att-2], ¤need: 2}]"))
    assert finding.message == "function attitude: `need` has no effect with `all`."


def test_a_group_counts_as_one_provider() -> None:
    finding = only_finding(
        (FUNCTION, "provided-by: ¤[{all: [att-1, att-2]}]"), ("essential: true", "need: 2")
    )
    assert finding.message == "function attitude needs 2 and has 1 provider."


def test_a_group_of_which_a_member_is_not_fitted_provides_nothing_there() -> None:
    finding = only_finding(
        (FUNCTION, "provided-by: ¤[{all: [att-1, pilot]}, att-2]"),
        ("essential: true", "need: 2"),
        ("name: Autopilot", "name: Autopilot\n    fitted-to: [late]"),
    )
    assert finding.message == "function attitude needs 2 and has 1 provider on airframe early."
    assert not findings_of(
        (FUNCTION, "provided-by: [{any: [att-1, pilot]}, att-2]"),
        ("essential: true", "need: 2"),
        ("name: Autopilot", "name: Autopilot\n    fitted-to: [late]"),
    )
