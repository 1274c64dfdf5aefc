"""The JSON Schema says of each field what it is, and refuses what is not in the format."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from sitegen.catalogue.json_schema import json_schema
from sitegen.resources import demo_catalogue
from tests.catalogue.catalogue_sample import SAMPLE

SCHEMA = json_schema()
VALIDATOR = jsonschema.Draft202012Validator(
    SCHEMA, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
)


class YamlOneTwo(yaml.SafeLoader):
    """Reads `on` as a word and a date as text, as an editor does (YAML 1.2, core schema)."""


class YamlOneOne(yaml.SafeLoader):
    """Reads `on` as true (YAML 1.1), and a date as text."""


def leave_out(loader: type[yaml.SafeLoader], *kinds: str) -> None:
    """Make a loader read these kinds of plain words as text."""
    loader.yaml_implicit_resolvers = {
        first: [(tag, words) for tag, words in resolvers if tag.rpartition(":")[2] not in kinds]
        for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }


leave_out(YamlOneTwo, "timestamp", "bool")
leave_out(YamlOneOne, "timestamp")
YamlOneTwo.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("true|false"), ["t", "f"])


def mistakes(text: str, loader: type[yaml.SafeLoader] = YamlOneTwo) -> list[tuple[str, str]]:
    """(path, message) of each mistake in a catalogue, in the order of their paths."""
    found = VALIDATOR.iter_errors(yaml.load(text, loader))
    return sorted((error.json_path, error.message) for error in found)


def records() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every kind of record of the format."""
    yield "Catalogue", SCHEMA
    yield from SCHEMA["$defs"].items()


def test_it_is_a_valid_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", [name for name, _ in records()])
def test_every_field_has_a_description_and_a_type(name: str) -> None:
    fields = dict(records())[name]["properties"]
    for field, value in fields.items():
        assert 5 <= len(value["description"]) <= 100, field
        assert value["description"].endswith("."), field
        assert {"type", "$ref", "const"} & value.keys(), field


def test_a_field_says_what_is_written_below_it_in_its_own_class() -> None:
    definitions = SCHEMA["$defs"]
    breaker, airframe = definitions["Protector"], definitions["Airframe"]
    assert breaker["properties"]["name"]["description"] == "What the placard says."
    assert airframe["properties"]["name"] != definitions["Source"]["properties"]["name"]
    assert airframe["properties"]["checked"] == definitions["Source"]["properties"]["checked"]


def test_every_figure_with_a_unit_names_it() -> None:
    units = {"amps": "A", "volts": "V", "minutes": "minutes", "hours": "Ah", "feet": "feet"}
    for name, record in records():
        for field, value in record["properties"].items():
            unit = next((units[part] for part in field.split("-") if part in units), None)
            if unit:
                assert re.search(rf"\b{unit}\b", value["description"]), (name, field)


@pytest.mark.parametrize("path", sorted(demo_catalogue().glob("*.yaml")), ids=lambda p: p.name)
def test_the_files_of_the_demo_are_valid(path: Path) -> None:
    assert mistakes(path.read_text("utf-8")) == []


def test_a_whole_catalogue_in_one_file_is_valid() -> None:
    assert mistakes(SAMPLE) == []


BROKEN = [
    ("volts: 24", "volts: many", "$.sources[1].volts", "'many' is not of type 'number'"),
    ("volts: 24", "volts: 0", "$.sources[1].volts", "minimum of 0"),
    ("volts: 24", "volts: null", "$.sources[1].volts", "None is not of type 'number'"),
    ("amps: 200", "amps: null", "$.sources[0].amps", "None is not of type 'number'"),
    ("kind: battery", "kind: cell", "$.sources[1].kind", "'cell' is not one of ['generator'"),
    ("amp-hours: 30", "amphours: 30", "$.sources[1]", "'amphours' was unexpected"),
    ("{id: bat, name", "{id: Bat 1, name", "$.sources[1].id", "does not match '^[a-z0-9]+"),
    ("current: ac}", "current: 3}", "$.buses[2].current", "3 is not one of ['dc', 'ac']"),
    # Of two forms only the one that is meant is complained about.
    ("amps: 0.2", "amps: lots", "$.equipment[1].amps", "not of type 'number', 'object'"),
    ("amps: 0.2", "amps: -1", "$.equipment[1].amps", "-1 is less than the minimum of 0"),
    ("amps: 0.2", "amps: {cruise: x}", "$.equipment[1].amps.cruise", "'x' is not of type"),
    ("amps: 0.2", "amps: {Main: 1}", "$.equipment[1].amps", "'Main' does not match"),
    ("ata: 22", "ata: 2.5", "$.equipment[2].ata", "2.5 is not of type 'string', 'integer'"),
    ("ata: 22", "ata: radio", "$.equipment[2].ata", "'radio' does not match"),
    ("ata: 22", "ata: 5", "$.equipment[2].ata", "5 is less than the minimum of 10"),
    ("breaker: cb-strobe", "breaker: 7", "$.equipment[3].supplies[0].breaker", "7 is not of"),
    ("breaker: cb-strobe", "breaker: {name: S}", "$.equipment[3].supplies[0].breaker", "'amps' is"),
    ("breaker: cb-strobe", "breaker: CB", "$.equipment[3].supplies[0].breaker", "'CB' does not"),
    ("[{any: [att-1, att-2]}]", "[{all: [a]}]", "$.equipment[2].requires[0]", "'all' was unex"),
    ("[{any: [att-1, att-2]}]", "att-1", "$.equipment[2].requires", "not of type 'array'"),
    ("live: [gen]}", "live: gen}", "$.devices[0]['closes-when'].live", "'gen' is not of type"),
    ("live: [gen]}", "alive: [gen]}", "$.devices[0]['closes-when']", "'alive' was unexpected"),
    ("fed-from: {bus: main", "fed-from: {node: main", "$.sources[2]['fed-from']", "'bus' is a"),
    ("columns: 8", "columns: 8.5", "$.panels[0].columns", "8.5 is not of type 'integer'"),
    ("revised: 2026-11-20", "revised: 20/11/26", "$.aircraft.revised", "is not a 'date'"),
    ("format: 1", "format: 2", "$.format", "1 was expected"),
    ("buses:\n", "bars:\n", "$", "'bars' was unexpected"),
]


@pytest.mark.parametrize(("correct", "broken", "path", "message"), BROKEN)
def test_a_mistake_is_reported_at_its_value(
    correct: str, broken: str, path: str, message: str
) -> None:
    assert correct in SAMPLE
    found = mistakes(SAMPLE.replace(correct, broken, 1))
    assert any(where == path and message in what for where, what in found), found
    # An unknown field may also be a required one that is missing: both are in the same record.
    assert len({where for where, _ in found}) == 1, found
    assert not any("is not valid under any" in what for _, what in found)


@pytest.mark.parametrize("word", ["on", "off", "yes", "No"])
def test_a_word_that_yaml_1_1_reads_as_true_or_false_is_no_position(word: str) -> None:
    text = SAMPLE.replace('positions: ["off", "on"]', f'positions: ["off", {word}]', 1)
    value = word in ("on", "yes")
    assert mistakes(text, YamlOneOne) == [
        ("$.switches[0].positions[1]", f"{value} is not of type 'string'")
    ]
