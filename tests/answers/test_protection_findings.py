"""The advice that the audit of protection gives: each subject once, at its worst."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import yaml

from sitegen.answers.protection.protection_findings import protection_findings
from sitegen.catalogue.read import read
from sitegen.catalogue.wire_chart import wire_rows
from sitegen.resources import demo_catalogue

TABLE = wire_rows()

FLEET = """\
format: 1
aircraft: {name: Dotterel, revision: "1", revised: 2026-01-01}
airframes: [{id: early, name: Early}, {id: late, name: Late}]
sources:
  - {id: gen, name: Generator, kind: generator, volts: 28, amps: 50}
buses:
  - {id: main, name: Main}
  - {id: side, name: Side}
devices:
  - {id: cb-side, name: SIDE, kind: breaker, amps: 20}
feeders:
  - {from: gen, to: main}
  - {from: main, to: side, through: [cb-side]}
equipment:
  - id: com
    name: Early COM
    ata: 23
    fitted-to: [early]
    amps: 22
    supplies: [{bus: side, breaker: {name: COM, amps: 10}, wire: 20}]
  - id: com
    name: Late COM
    ata: 23
    fitted-to: [late]
    amps: 30
    supplies: [{bus: side, breaker: {name: COM, amps: 25}, wire: 10}]
  - {id: fan, name: Fan, ata: 21, supplies: [{bus: main, breaker: {name: FAN, amps: 10}}], amps: 12}
  - {id: lamp, name: Lamp, ata: 33, supplies: [{bus: main}]}
conditions:
  - {id: flight, name: Flight, sources: [gen]}
"""


def advice(tmp_path: Path, text: str) -> list[tuple[int, str]]:
    """Line and message of each piece."""
    path = tmp_path / "fleet.yaml"
    path.write_text(text, encoding="utf-8")
    found = list(protection_findings(read(path), TABLE))
    assert all(f.kind == "advice" and f.hint for f in found)
    return [(f.place.line, f.message) for f in found]


def test_advice_names_the_worst_airframe_once_at_the_place_of_the_record(tmp_path: Path) -> None:
    found, lines = advice(tmp_path, FLEET), FLEET.splitlines()
    assert [(lines[number - 1].split(",")[0].strip(), message) for number, message in found] == [
        (
            "- {id: gen",
            "source gen: it gives at least 42 A (1 item without amps left out) of its 50 A in"
            " flight on late, over 80 %, and no meter watches it.",
        ),
        (
            "- {id: cb-side",
            "breaker cb-side: its 20 A is less than the 30 A that it feeds in flight on late.",
        ),
        (
            "- id: com",
            "breaker COM of equipment com: 10 A is too much for its wire: gauge 20 takes a breaker"
            " of 7.5 A at most.",
        ),
        (
            "- id: com",
            "breaker COM of equipment com: its 10 A is less than the 22 A that it feeds in flight"
            " on early.",
        ),
        (
            "- id: com",
            "breaker COM of equipment com: its 25 A is less than the 30 A that it feeds in flight"
            " on late.",
        ),
        (
            "- id: com",
            "breaker COM of equipment com: its 25 A is no less than the 20 A of cb-side, which"
            " feeds side on late: a fault downstream of it may take the whole bus.",
        ),
        # As bad on both: the first is named.
        (
            "- {id: fan",
            "breaker FAN of equipment fan: its 10 A is less than the 12 A that it feeds in flight"
            " on early.",
        ),
    ]
    early, late = (i + 1 for i, line in enumerate(lines) if line == "  - id: com")
    assert [number for number, _ in found[2:-1]] == [early, early, late, late]


def test_with_one_airframe_none_is_named(tmp_path: Path) -> None:
    catalogue = yaml.safe_load(FLEET)
    del catalogue["airframes"]
    catalogue["equipment"] = catalogue["equipment"][2:3]
    catalogue["devices"][0]["amps"] = 1
    catalogue["equipment"][0]["supplies"] = [{"bus": "side"}]
    (found,) = advice(tmp_path, yaml.safe_dump(catalogue))
    assert found[1] == "breaker cb-side: its 1 A is less than the 12 A that it feeds in flight."


def test_the_demo_draws_one_piece_of_advice_which_it_is_there_to_teach() -> None:
    (found,) = protection_findings(read(demo_catalogue()), TABLE)
    assert found.message.startswith("bus ac-115: a short on it reaches inverter-1 and inverter-2 ")


@pytest.mark.parametrize(
    ("device", "amps", "smaller"), [("cb-ess-forward", 60, 20), ("fl-survey", 150, 60)]
)
def test_a_breaker_or_link_of_the_demo_made_too_small_is_found(
    tmp_path: Path, device: str, amps: int, smaller: int
) -> None:
    changed = 0
    # The handouts name the notes.
    shutil.copytree(demo_catalogue() / "notes", tmp_path / "notes")
    for path in demo_catalogue().glob("*.yaml"):
        lines = path.read_text(encoding="utf-8").splitlines()
        for i, line in enumerate(lines):
            if f"{{id: {device}," in line:
                lines[i] = line.replace(f"amps: {amps},", f"amps: {smaller},")
                changed += lines[i] != line
        (tmp_path / path.name).write_text("\n".join(lines), encoding="utf-8")
    assert changed == 1
    found = protection_findings(read(tmp_path), TABLE)
    assert any(f"{device}: its {smaller} A is less than" in f.message for f in found)


def test_ac_sources_that_meet_with_nothing_failed_and_are_not_synchronised(tmp_path: Path) -> None:
    text = """\
format: 1
aircraft: {name: Dotterel, revision: "1", revised: 2026-01-01}
sources:
  - {id: ac-1, name: AC 1, kind: generator, volts: 115, current: ac}
  - {id: ac-2, name: AC 2, kind: generator, volts: 115, current: ac}
buses:
  - {id: main, name: Main, current: ac}
feeders:
  - {from: ac-1, to: main}
  - {from: ac-2, to: main}
equipment:
  - {id: fan, name: Fan, ata: 21, supplies: [{bus: main, breaker: {name: FAN, amps: 5}}], amps: 3}
conditions:
  - {id: one, name: One, sources: [ac-1]}
  - {id: both, name: Both, sources: [ac-1, ac-2]}
"""
    [found] = [(line, words) for line, words in advice(tmp_path, text) if "meet on it" in words]
    assert found == (
        7,
        "bus main: in both ac-1 and ac-2 meet on it with nothing failed and are not synchronised:"
        " whether what it feeds works is not known.",
    )
    named = text.replace("current: ac}\nbuses", "current: ac, synchronised: bus}\nbuses")
    assert any("meet on it" in words for _, words in advice(tmp_path, named))
    named = named.replace(
        "current: ac}\n  - {id: ac-2", "current: ac, synchronised: bus}\n  - {id: ac-2"
    )
    assert not any("meet on it" in words for _, words in advice(tmp_path, named))


@pytest.mark.parametrize(
    ("least", "words"),
    # By hand (Kirchhoff) 12 A of 0.05 and 0.01 ohm side by side leave 27.9 V; by the shares, of
    # 6 A each, one source would have 27.7 V and the other 27.94 V.
    [
        ("27.8", "it may have as little as 27.7 V in flight"),
        ("28", "it has at most 28.0 V in flight"),
        ("27.6", ""),
    ],
)
def test_too_few_volts_for_certain_are_told_from_those_that_may_be(
    tmp_path: Path, least: str, words: str
) -> None:
    two = FLEET.replace(
        "volts: 28, amps: 50}",
        "volts: 28, amps: 50, internal-ohms: 0.05}\n  - {id: other, name: Other, kind: generator,"
        " volts: 28, amps: 50, internal-ohms: 0.01}",
    )
    two = two.replace("{from: gen, to: main}", "{from: gen, to: main}\n  - {from: other, to: main}")
    two = two.replace("[gen]}", "[gen, other]}").replace("amps: 22\n", "amps: 0\n")
    two = two.replace("amps: 30\n", "amps: 0\n").replace(
        "amps: 12}", f"amps: 12, min-volts: {least}}}"
    )
    two = two.replace("{bus: main}]}", "{bus: main}], amps: 0}")
    found = [message for _, message in advice(tmp_path, two) if "`min-volts`" in message]
    assert len(found) == bool(words)
    assert all(words in message for message in found)
