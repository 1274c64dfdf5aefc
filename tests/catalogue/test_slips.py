"""Slips of the pen that read as something else, or as nothing: each is reported where it was made."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import pytest
import yaml

from sitegen.catalogue import yaml_text
from tests.catalogue.catalogue_sample import (
    SAMPLE,
    findings_of,
    marked,
    only_finding,
    read_texts,
    spoilt,
)

STROBE = "  - id: strobe-left\n    name: Left strobe"
VOLTS = "  - {id: volts, name: Main voltmeter, kind: voltmeter, at: main}"


# spaces, colons and number signs


SPACES = [
    ("bus: main, through: [cb-inv]", "¤bus:main, through: [cb-inv]", "A space is missing after the colon of `bus`.", "Write one between the colon and the value."),
    ('switches: {bat-switch: "on"}', 'switches: {¤bat-switch:"on"}', "A space is missing after the colon of `bat-switch`.", "Write one between the colon and the value."),
    ("    name: Left strobe", "    ¤name:Left strobe", "A space is missing after the colon of `name`.", "Write one between the colon and the value."),
    ("    supplies: [{bus: ac,", "    ¤supplies:[{bus: ac,", "A space is missing after the colon of `supplies`.", "Write one between the colon and the value."),
    ("    name: Left strobe", "    name:¤\u00a0Left strobe", "There is a no-break space here, which is no space to YAML.", "Replace it by a space; it may have come in with a text that was copied."),
    ("    name: Left strobe", "   ¤\u00a0name: Left strobe", "There is a no-break space here, which is no space to YAML.", "Replace it by a space; it may have come in with a text that was copied."),
    ("    name: Left strobe", "     name¤: Left strobe", "This line does not fit the one above.", "Indent the fields of a record equally; look also whether the line above has its colon."),
    (STROBE, "  - id strobe-left\n    name¤: Left strobe", "This line does not fit the one above.", "Indent the fields of a record equally; look also whether the line above has its colon."),
    ("{id: main, name: Main bus}", "{id: main, name: Main bus ¤#1}", "From here on the line is read as a comment: `#1}`.", "Put a text that holds ` #` in quotes, or write the comment in a line of its own."),
]  # fmt: skip


@pytest.mark.parametrize("parser", [yaml.SafeLoader, yaml_text._loader], ids=["slow", "fast"])
@pytest.mark.parametrize(("old", "new", "message", "hint"), SPACES, ids=[s[1].strip() for s in SPACES])  # fmt: skip
def test_a_space_too_few_or_of_the_wrong_kind_is_reported(
    old: str, new: str, message: str, hint: str, parser: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yaml_text, "_loader", parser)
    finding = only_finding((old, new))
    assert (finding.message, finding.hint) == (message, hint)


def test_a_no_break_space_within_a_text_does_no_harm() -> None:
    assert not findings_of(("name: Left strobe", "name: Left strobe, 28\u00a0V"))


def test_a_name_that_a_number_sign_cuts_off_is_advice() -> None:
    finding = only_finding(("name: Left strobe", "name: Left strobe ¤#1"))
    assert finding.kind == "advice"
    assert finding.message == "`#1` is read as a comment, not as the end of the text before it."


@pytest.mark.parametrize("line", ["name: Left strobe # the 1st", 'name: "Left #1"', "name: Left#1", "# name: Left #1\n    name: Left strobe"])  # fmt: skip
def test_a_comment_that_is_meant_does_no_harm(line: str) -> None:
    assert not findings_of(("name: Left strobe", line))


def test_a_mode_after_a_space_is_reported_with_how_to_write_it() -> None:
    finding = only_finding(("failed: [gen]", "failed: [¤main: shorted]"))
    assert finding.hint == 'Write "main:shorted", without the space.'


def test_an_empty_id_is_empty() -> None:
    finding = only_finding((STROBE, STROBE.replace("id: strobe-left", "id: ¤''")))
    assert finding.message == "equipment Left strobe: `id` is empty."


# figures


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("volts: 28.5", "volts: ¤1e-320"),
        ("amps: 200", "amps: ¤1e-300"),
        ("amp-hours: 30", "amp-hours: ¤0.0000001"),
        ("amps: 2, fed-from", "amps: 2, efficiency: ¤1e-300, fed-from"),
        ("name: ATT 1, amps: 5", "name: ATT 1, amps: ¤1e-9"),
        ("amps: 0.2", "amps: {cruise: ¤1e-9, approach: 1}"),
    ],
)
def test_a_figure_that_is_all_but_nothing_is_refused(old: str, new: str) -> None:
    # What is divided by it would come out as infinity, on the pages and in the answers.
    finding = only_finding((old, new))
    assert finding.kind == "error"
    assert finding.message.endswith("is too small to be meant.")


# The bounds are common practice, no source.
@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("volts: 24,", "volts: ¤24000,", "source bat: 24000 V is an unusual figure for `volts`."),
        ("amps: 200", "amps: ¤20000", "source gen: 20000 A is an unusual figure for `amps`."),
        ("amp-hours: 30", "amp-hours: ¤30000", "source bat: 30000 Ah is an unusual figure for `amp-hours`."),
        ("amp-hours: 30", "amp-hours: 30, volts-range: ¤[22, 2500]", "source bat: 2500 V is an unusual figure for `volts-range`."),
        ("amp-hours: 30", "amp-hours: 30, charge-amps: ¤[0, 60000]", "source bat: 60000 A is an unusual figure for `charge-amps`."),
        ("amps: 60}", "amps: ¤60000}", "fuse-link fl-ess: 60000 A is an unusual figure for `amps`."),
        ("name: ATT 1, amps: 5", "name: ATT 1, amps: ¤5000000", "equipment att-1: "),
        ("amps: 0.2", "amps: ¤200000", "equipment att-2: 200000 A is an unusual figure for `amps`."),
    ],
)  # fmt: skip
def test_a_figure_that_no_aircraft_has_is_advice(old: str, new: str, words: str) -> None:
    finding = only_finding((old, new))
    assert finding.message.startswith(words)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("amps: 0.2", "amps: 0"),
        ("amps: 0.2", "amps: 0.0005"),
        ("volts: 24,", "volts: 1.5,"),
        ("volts: 115", "volts: 540"),
        ("amps: 200", "amps: 1200"),
        ("amp-hours: 30", "amp-hours: 30, charge-amps: [0, 60], volts-range: [22, 24]"),
        ("amp-hours: 30", "amp-hours: 30, charge-amps: [5, 5]"),
    ],
)
def test_a_figure_that_an_aircraft_may_have_does_no_harm(old: str, new: str) -> None:
    assert not findings_of((old, new))


# terms, feeders, panels, modes


def test_terms_of_which_there_is_none_are_worth_a_thought() -> None:
    relay = only_finding(('{switches: {bat-switch: "on"}}}', '¤{}}\n  - {id: k-2, name: K 2, kind: relay, closes-when: {switches: {bat-switch: "on"}}}'),
                         ("from: inv, to: ac}", "from: inv, to: ac, through: [k-2]}"))  # fmt: skip
    assert "so it is closed at all times" in relay.message
    lamp = only_finding(("lit-when: {open: [k-gen]}", "lit-when: [{open: [k-gen]}, ¤{}]"))
    assert "so it is lit at all times" in lamp.message


def test_the_same_feeder_twice_is_advice() -> None:
    finding = only_finding(
        ("  - {from: inv, to: ac}", "  - {from: inv, to: ac}\n  - ¤{from: inv, to: ac}")
    )
    assert finding.kind == "advice"
    assert (
        finding.message == "The feeder from `inv` to `ac` is defined twice; first at all.yaml:25:5."
    )


def test_a_feeder_may_be_defined_once_for_each_airframe_and_each_path() -> None:
    early, late = "fitted-to: [early]", "fitted-to: [late]"
    assert not findings_of(
        (
            "  - {from: inv, to: ac}",
            f"  - {{from: inv, to: ac, {early}}}\n  - {{from: inv, to: ac, {late}}}",
        )
    )
    assert not findings_of(
        (
            "  - {from: bat, to: main, through: [k-bat]}",
            "  - {from: bat, to: main, through: [k-bat]}\n  - {from: bat, to: main, through: [k-gen]}",
        )
    )


def test_a_breaker_is_looked_for_on_the_panel_of_its_own_airframe() -> None:
    panel = "{id: wall, name: Side wall, where: beside the right seat, rows: [A, B], columns: 8"
    panels = f"{panel}, fitted-to: [early]}}\n  - {panel.replace('[A, B]', '[A, B, C]')}, fitted-to: [late]}}"
    breaker = "  - {id: cb-2, name: CB 2, kind: breaker, panel: wall, at: %s, fitted-to: [%s]}\n  - {id: d-ess"
    feeder = (
        "  - {from: inv, to: ac}",
        "  - {from: inv, to: ac}\n  - {from: bat, to: main, through: [cb-2], fitted-to: [%s]}",
    )
    change = (f"{panel}}}", panels)
    assert not findings_of(
        change, ("  - {id: d-ess", breaker % ("C3", "late")), (feeder[0], feeder[1] % "late")
    )
    finding = only_finding(
        change, ("  - {id: d-ess", breaker % ("¤C3", "early")), (feeder[0], feeder[1] % "early")
    )
    assert finding.message == "breaker cb-2: the panel `wall` has no row `C`."


@pytest.mark.parametrize("order", [("early", "late"), ("late", "early")])
def test_a_mode_must_be_one_of_the_component_on_every_airframe(order: tuple[str, str]) -> None:
    kinds = {
        "early": "kind: fuse",
        "late": 'kind: contactor, closes-when: {switches: {bat-switch: "on"}}',
    }
    devices = "".join(
        f"  - {{id: x, name: X, {kinds[block]}, fitted-to: [{block}]}}\n" for block in order
    )
    finding = only_finding(
        ("  - {id: d-ess", f"{devices}  - {{id: d-ess"),
        ("through: [k-bat]", "through: [k-bat, x]"),
        ("failed: [gen]", 'failed: [¤"x:stuck-closed"]'),
    )
    assert "a fuse does not fail as `stuck-closed`" in finding.message


def test_what_follows_a_name_that_is_listed_twice_keeps_its_place() -> None:
    through = "through: [fl-ess, ¤fl-ess, ¤d-ess]"
    text, places = marked(
        spoilt(
            ("through: [fl-ess, d-ess]", through), ("through: [k-bat]", "through: [k-bat, d-ess]")
        )
    )
    errors = read_texts({"all.yaml": text}).errors
    assert [f.place for f in errors] == places
    assert "`fl-ess` is listed twice in `through`" in errors[0].message
    assert errors[1].message.startswith("The diode `d-ess` is in the feeder from")


def test_the_sample_draws_no_advice() -> None:
    assert not read_texts({"all.yaml": SAMPLE}).advice
