"""What an author writes of a handout: one mistake, one finding, where it was made."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.catalogue.findings import Finding
from sitegen.catalogue.json_schema import json_schema
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import read

MAP = """\
format: 1
aircraft: {name: Heron, revision: "1", revised: 2026-11-20}
sources: [{id: gen, name: Generator, kind: generator, volts: 28, amps: 100}]
buses: [{id: main, name: Main bus}]
feeders: [{from: gen, to: main}]
equipment:
  - {id: lamp, name: Lamp, ata: "33", amps: 1, supplies: [{bus: main, fuse: {name: L, amps: 5}}]}
conditions: [{id: flight, name: Flight, sources: [gen]}]
"""

GOOD = "{id: course, name: Course, sections: [buses, notes], notes: [fuel], conditions: [flight]}"


def findings(tmp_path: Path, *handouts: str) -> tuple[Finding, ...]:
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes" / "fuel.md").write_text("# Fuel\n\nText.\n")
    (tmp_path / "map.yaml").write_text(MAP)
    records = "".join(f"  - {handout}\n" for handout in handouts)
    (tmp_path / "paper.yaml").write_text(f"handout:\n{records}")
    found = read(tmp_path).findings
    return tuple(f for f in found if f.place.file == "paper.yaml")


def test_a_handout_without_a_mistake_is_read(tmp_path: Path) -> None:
    assert findings(tmp_path, GOOD) == ()
    catalogue = read(tmp_path).catalogue
    assert catalogue is not None
    assert catalogue.handout[0].sections == ["buses", "notes"]
    assert catalogue.handout[0].paper == "a4"


@pytest.mark.parametrize(
    ("wrong", "says", "hint"),
    [
        (("[buses, notes]", "[busses, notes]"), "must be", "Did you mean `buses`?"),
        (("[fuel]", "[fule]"), "there is no note `fule`", "Did you mean `fuel`?"),
        (("[flight]", "[fligth]"), "there is no condition `fligth`", "Did you mean `flight`?"),
        (("[buses, notes]", "[buses, notes, buses]"), "is listed twice in `sections`", "Delete"),
        (("[fuel]", "[fuel, fuel]"), "is listed twice in `notes`", "Delete"),
        (("[flight]", "[flight], paper: a5"), "must be `a4` or `letter`", ""),
        (("notes],", "notes, blank-diagram], leave-out: [name],"), "must be `names`", "`names`?"),
        (("[buses, notes]", "[]"), "needs 1 entry", ""),
    ],
)
def test_a_mistake_in_a_handout_is_reported_once(
    tmp_path: Path, wrong: tuple[str, str], says: str, hint: str
) -> None:
    (found,) = findings(tmp_path, GOOD.replace(*wrong))
    assert found.kind == "error"
    assert says in found.message
    assert hint in found.hint
    assert found.place.line == 2


def test_two_handouts_of_one_id_are_reported(tmp_path: Path) -> None:
    (found,) = findings(tmp_path, GOOD, GOOD.replace("name: Course", "name: Card"))
    assert "The id `course` of a handout is defined twice" in found.message


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (("[buses, notes]", "[buses]"), "notes"),
        (("[flight]", "[flight], leave-out: [amps]"), "leave-out"),
    ],
)
def test_what_is_chosen_for_a_part_that_is_not_printed_is_advice(
    tmp_path: Path, wrong: tuple[str, str], field: str
) -> None:
    (found,) = findings(tmp_path, GOOD.replace(*wrong))
    assert found.kind == "advice"
    assert f"`{field}` has no effect" in found.message


def test_an_editor_knows_the_words_for_the_parts() -> None:
    text = str(json_schema()["$defs"]["Handout"])
    assert "equipment-losses" in text
    assert "handout" in Catalogue.model_fields
