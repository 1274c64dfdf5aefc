"""An editor with a YAML language server knows the format from its schema.

The server is `yaml-language-server` (the YAML Language Support project), as editors run it; what it
is asked is the Language Server Protocol, 3.17.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from sitegen.catalogue.json_schema import json_schema
from sitegen.cli import commands
from sitegen.resources import demo_catalogue
from tests.catalogue.catalogue_sample import SAMPLE
from tests.outside.language_client import LanguageClient

SERVER = Path(sys.prefix) / "language-server/node_modules/.bin/yaml-language-server"
FIRST_LINE = "# yaml-language-server: $schema=catalogue.schema.json\n"
"""As the documentation has it, at the top of each file."""


@pytest.fixture(scope="module")
def editor(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LanguageClient]:
    if not SERVER.exists():
        pytest.fail(
            "The YAML language server is not installed. `bash tests/run` installs it with npm,"
            " which must reach its registry, from tests/outside/language-server."
        )
    folder = tmp_path_factory.mktemp("catalogue")
    schema = CliRunner().invoke(commands, ["inspect", "--schema"]).output
    (folder / "catalogue.schema.json").write_text(schema, encoding="utf-8")
    settings = {"yaml": {"schemaStore": {"enable": False}}}
    client = LanguageClient([str(SERVER), "--stdio"], folder, settings)
    yield client
    client.close()


def lines_marked(editor: LanguageClient, text: str) -> dict[int, list[str]]:
    """By line of a text: what is marked there."""
    marked: dict[int, list[str]] = {}
    for line, message in editor.mistakes(FIRST_LINE + text):
        marked.setdefault(line - 1, []).append(message)
    return marked


@pytest.mark.parametrize("path", sorted(demo_catalogue().glob("*.yaml")), ids=lambda p: p.name)
def test_nothing_is_marked_in_a_file_of_the_demo(editor: LanguageClient, path: Path) -> None:
    assert lines_marked(editor, path.read_text("utf-8")) == {}


@pytest.mark.parametrize(
    ("correct", "broken", "message"),
    [
        ("volts: 24", "volts: many", 'Incorrect type. Expected "number".'),
        ("volts: 24", "volt: 24", "Property volt is not allowed."),
        ("kind: battery", "kind: cell", 'Value is not accepted. Valid values: "generator"'),
        ("{id: bat, name", "{id: Bat 1, name", "An id is lowercase letters and digits"),
        ("ata: 22", "ata: radio", "An ATA chapter is written 23, 23-12 or 23-12-01."),
        ("revised: 2026-11-20", "revised: 20/11/26", "String is not a RFC3339 date."),
        ("columns: 8", "columns:", 'Incorrect type. Expected "integer".'),
        ("live: [gen]}", "live: gen}", 'Incorrect type. Expected "array".'),
        ("live: [gen]}", "alive: [gen]}", "Property alive is not allowed."),
        ('{gen-switch: "on"}', "{gen-switch: true}", 'Incorrect type. Expected "string".'),
        ("breaker: cb-strobe", "breaker: CB STROBE", "An id is lowercase letters and digits"),
        ("breaker: cb-strobe", "breaker: [cb]", "Incorrect type. Expected one of string, object."),
        ("amps: 0.2", "amps: {cruise: x}", 'Incorrect type. Expected "number".'),
        ("buses:\n", "bars:\n", "Property bars is not allowed."),
    ],
)
def test_a_mistake_is_marked_once_in_its_line(
    editor: LanguageClient, correct: str, broken: str, message: str
) -> None:
    line = SAMPLE[: SAMPLE.index(correct)].count("\n") + 1
    marked = lines_marked(editor, SAMPLE.replace(correct, broken, 1))
    assert list(marked) == [line]
    # Of an unknown name and the field that is now missing, each is marked.
    others = [text for text in marked[line] if not text.startswith("Missing property")]
    assert len(others) == 1
    assert others[0].startswith(message)


@pytest.mark.parametrize(
    ("words", "record", "field"),
    [
        ("sources:", None, "sources"),
        ("amp-hours", "Source", "amp-hours"),
        ("fed-from", "Source", "fed-from"),
        ("closes-when", "Device", "closes-when"),
        ("live:", "Terms", "live"),
        ("breaker: {name: ATT 1", "Supply", "breaker"),
        ("breaker: cb-strobe", "Supply", "breaker"),
        ("amps: 5, panel", "Protector", "amps"),
        ("amps: {cruise", "Equipment", "amps"),
        ("amps: 0.2", "Equipment", "amps"),
        ("requires", "Equipment", "requires"),
    ],
)
def test_a_field_shows_its_description(
    editor: LanguageClient, words: str, record: str | None, field: str
) -> None:
    schema = json_schema()
    fields = schema["$defs"][record]["properties"] if record else schema["properties"]
    assert fields[field]["description"] in editor.hover(FIRST_LINE + SAMPLE, words)


@pytest.mark.parametrize(
    ("text", "offered"),
    [
        ("¤", {"format", "aircraft", "sources", "battery-time"}),
        ("sources:\n  - id: bat\n    ¤", {"kind", "volts", "amp-hours", "fed-from", "checked"}),
        ("sources:\n  - {id: bat, a¤}\n", {"amps", "amp-hours"}),
        ("sources:\n  - id: bat\n    kind: ¤", {"generator", "battery", "converter"}),
        ("devices:\n  - closes-when:\n      ¤\n", {"switches", "live", "volts-above"}),
        ("devices:\n  - closes-when:\n      - ¤\n", {"switches", "live", "volts-above"}),
        ("equipment:\n  - supplies:\n      - breaker:\n          ¤\n", {"name", "panel", "at"}),
        ("functions:\n  - provided-by:\n      - ¤\n", {"any", "all", "need"}),
    ],
)
def test_what_may_be_written_is_offered(
    editor: LanguageClient, text: str, offered: set[str]
) -> None:
    before, _, after = text.partition("¤")
    answer = editor.offered(FIRST_LINE + before, after)
    assert offered <= set(answer)
    assert len(answer) == len(set(answer))
