"""A hundred mistakes of thirty kinds in the demo: each is reported in its line, with its fix.

The first new message must be in the line that was spoilt, and say what to do about it. Which line
of its kind is spoilt is drawn by a random number, from the number of the mistake.
"""

from __future__ import annotations

import random
import re
import tempfile
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from sitegen.answers.chatter import chatter_findings
from sitegen.answers.doubtful_conditions import doubtful_conditions
from sitegen.catalogue.findings import Finding
from sitegen.catalogue.read import ReadResult, read
from sitegen.resources import demo_catalogue

COUNT = 100
MISSES: frozenset[int] = frozenset()
"""The numbers of the mistakes that are not reported as they should be: at most one of the 100."""

NO_BREAK = "\N{NO-BREAK SPACE}"


class Mistake(NamedTuple):
    """One spoilt line, and what must be said of it."""

    file: str
    line: int
    """Of the message, counted from 1."""
    fix: str
    """Part of the message or its hint."""
    texts: dict[str, str]
    """The files that are no longer as they were."""


Texts = dict[str, str]
Kind = Callable[[Texts, random.Random], Mistake]


def spoil(files: str, pattern: str, new: str | Callable[[re.Match[str]], str], fix: str) -> Kind:
    """A kind of mistake in one line: a pattern in it is replaced; `fix` may have its groups."""

    def make(texts: Texts, rng: random.Random) -> Mistake:
        found = [
            (name, number, match)
            for name, text in sorted(texts.items())
            if re.fullmatch(files, name)
            for number, line in enumerate(text.split("\n"))
            if not line.lstrip().startswith("#")
            for match in re.finditer(pattern, line)
        ]
        name, number, match = rng.choice(found)
        lines = texts[name].split("\n")
        put = match.expand(new) if isinstance(new, str) else new(match)
        line = lines[number]
        lines[number] = line[: match.start()] + put + line[match.end() :]
        return Mistake(name, number + 1, match.expand(fix), {name: "\n".join(lines)})

    return make


def a_merge_conflict(texts: Texts, rng: random.Random) -> Mistake:
    name = rng.choice(sorted(name for name in texts if name.startswith("equipment")))
    lines = texts[name].split("\n")
    at = rng.choice([i for i, line in enumerate(lines) if line.startswith("    amps: ")])
    lines[at : at + 1] = ["<<<<<<< HEAD", lines[at], "=======", "    amps: 99", ">>>>>>> other"]
    return Mistake(name, at + 1, "Keep one of the two", {name: "\n".join(lines)})


def a_diode_against_its_source(texts: Texts, rng: random.Random) -> Mistake:
    source, bus = rng.choice([("gen-1", "forward"), ("gen-2", "mid"), ("external-power", "aft")])
    lines = texts["feeders.yaml"].split("\n")
    at = next(i for i, x in enumerate(lines) if f"from: {source}, to: {bus}, through: [" in x)
    lines[at] = lines[at].replace(f"from: {source}, to: {bus}", f"from: {bus}, to: {source}")
    lines[at] = lines[at].replace("through: [", "through: [d-new, ")
    lines[lines.index("devices:")] += "\n  - {id: d-new, name: Blocking diode, kind: diode}"
    return Mistake(
        "feeders.yaml", at + 2, "Turn the feeder round", {"feeders.yaml": "\n".join(lines)}
    )


BREAKER = re.compile(r"\{name: ([A-Z0-9 ]+), amps: [\d.]+, panel: ([a-z-]+), at: ([A-Z]\d+)\}")


def of_an_earlier_breaker(texts: Texts, rng: random.Random, group: int, fix: str) -> Mistake:
    """A breaker gets the placard or the place of an earlier one on its panel."""
    name = rng.choice(["equipment-34-navigation.yaml", "equipment-28-fuel.yaml"])
    lines = texts[name].split("\n")
    found = [(i, m) for i, x in enumerate(lines) for m in BREAKER.finditer(x)]
    pairs = [
        (a, i, b)
        for (j, a) in found
        for (i, b) in found
        if j < i and a[2] == b[2] and a[1] != b[1] and a[3] != b[3]
        and both_fitted(lines, j) and both_fitted(lines, i)
    ]  # fmt: skip
    first, at, second = rng.choice(pairs)
    start, end = second.span(group)
    lines[at] = lines[at][:start] + first[group] + lines[at][end:]
    return Mistake(name, at + 1, fix, {name: "\n".join(lines)})


def both_fitted(lines: list[str], at: int) -> bool:
    """Whether the record that a line is in is fitted to all airframes."""
    start = max(i for i in range(at + 1) if lines[i].startswith("  - id:"))
    end = next((i for i in range(at + 1, len(lines)) if lines[i].startswith("  - ")), len(lines))
    return not any("fitted-to" in line for line in lines[start:end])


def one_placard_twice(texts: Texts, rng: random.Random) -> Mistake:
    return of_an_earlier_breaker(texts, rng, 1, "Fix one of the two names")


def one_place_twice(texts: Texts, rng: random.Random) -> Mistake:
    return of_an_earlier_breaker(texts, rng, 3, "Fix one of the two places")


def in_condition(texts: Texts, condition: str, old: str, new: str, fix: str) -> Mistake:
    text = texts["conditions.yaml"]
    start = text.index(f"- id: {condition}\n")
    at = text.index(old, start)
    line = text.count("\n", 0, start) + 1
    changed = text[:at] + new + text[at + len(old) :]
    return Mistake("conditions.yaml", line, fix, {"conditions.yaml": changed})


def a_switch_forgotten(texts: Texts, rng: random.Random) -> Mistake:
    switch = rng.choice(["battery-master", "gen-1-switch", "gen-2-switch"])
    return in_condition(texts, "cruise", f'      {switch}: "on"\n', "", switch)


def a_source_on_line_that_feeds_nothing(texts: Texts, rng: random.Random) -> Mistake:
    condition, source = rng.choice(
        [
            ("generator-1-alone", "gen-2"),
            ("generator-2-alone", "gen-1"),
            ("battery-only", "gen-1"),
            ("battery-only", "external-power"),
        ]
    )
    fix = f"take `{source}` out of `sources`"
    return in_condition(texts, condition, "sources: [", f"sources: [{source}, ", fix)


def a_relay_that_locks_itself(texts: Texts, rng: random.Random) -> Mistake:
    relay = rng.choice(["k-battery", "k-external", "k-survey"])
    pattern = rf"(?<=id: {relay}, )(.*closes-when: \{{)"
    return spoil("feeders.yaml", pattern, rf"\1open: [{relay}], ", "chatters")(texts, rng)


def a_file_with_two_endings(texts: Texts, rng: random.Random) -> Mistake:
    name = rng.choice(["equipment-99.yaml.txt", "more.yml.txt", "notes.yaml.txt"])
    return Mistake(name, 1, f"Rename it to `{name[:-4]}`", {name: "buses: []\n"})


def a_copied_record(texts: Texts, rng: random.Random) -> Mistake:
    name = rng.choice(["buses.yaml", "panels.yaml", "switches.yaml"])
    lines = texts[name].split("\n")
    at = rng.choice([i for i, x in enumerate(lines) if x.startswith("  - {id: ") and "*" in x])
    lines.insert(at + 1, lines[at])
    return Mistake(name, at + 2, "Give one of them another id", {name: "\n".join(lines)})


EQUIPMENT = r"equipment-.*\.yaml"
KINDS: tuple[Kind, ...] = (
    spoil(
        r"feeders\.yaml|sources\.yaml|indications\.yaml|functions\.yaml",
        r'(?<=note: )"[^"]*(\[[^\]]+\]\([^)]+\))[^"]*"(?=[,}])',
        r"See \1 first.",
        "in quotes",
    ),
    spoil(
        r"switches\.yaml|buses\.yaml|panels\.yaml",
        r"(?<=, name: )([A-Z][a-z]+) ([a-z]+)(?=[ a-z]*, )",
        r"\1: \2",
        "Put the whole text in quotes",
    ),
    spoil(
        r"(feeders|sources|switches|breakers-shared)\.yaml",
        r"(?<=\w), (kind|amps|panel|volts|at|positions|where): ",
        r" \1: ",
        r"comma is missing before `\1`",
    ),
    spoil(EQUIPMENT, r"^  - id: (?=[b-z])", "    id: ", "write its `- ` before it"),
    spoil(r"(buses|panels|switches|sources)\.yaml", r"^  - \{id", "    {id", "Write `- ` before"),
    spoil(EQUIPMENT, r"^ {4}(?=amps:)", f"   {NO_BREAK}", "Replace it by a space"),
    spoil(r"(buses|panels|switches)\.yaml", r", name: ", f", name:{NO_BREAK}", "by a space"),
    spoil(EQUIPMENT, r"ata: (\d\d)-(\d\d)$", r"ata: \1.\2", r"Write \1-\2"),
    a_merge_conflict,
    spoil(EQUIPMENT, r"(?<=on-loss: )([A-Z][^:#\[\"]*)$", r"\1 ![x](a.png)", "Delete it"),
    spoil(r".*\.yaml", r"\]\(([a-z]+)-([a-z0-9]+)\)", r"](\1\2)", r"Did you mean `\1-\2`"),
    a_diode_against_its_source,
    one_placard_twice,
    a_switch_forgotten,
    a_file_with_two_endings,
    a_source_on_line_that_feeds_nothing,
    a_relay_that_locks_itself,
    spoil(EQUIPMENT, r"bus: (wall-left|essential|forward|mid)\b", r"bus: \1x", r"mean `\1`"),
    spoil(EQUIPMENT, r"^    amps: ", "    amp: ", "Did you mean `amps`"),
    a_copied_record,
    spoil(EQUIPMENT, r"(?<=-wall, at: )([A-F])\d+", r"\g<1>77", "Its columns are 1 to"),
    one_place_twice,
    spoil(
        EQUIPMENT, r"amps: (\d+)\.(\d+)(?=[,}])", r"amps: \1,\2", r"Write a decimal point: \1.\2"
    ),
    spoil(r"(feeders|sources)\.yaml", r'(reference: "[^"]+)"', r"\1", "Close it"),
    spoil(r"(feeders|switches)\.yaml", r'(?<=: )"on"(?=\})', "on", 'Write "on" in quotes'),
    spoil(r"(buses|panels|switches|feeders)\.yaml", r"\}$", "", "Close it with `}`"),
    spoil(EQUIPMENT, r"^    (?=amps|ata)", "\t", "by spaces"),
    spoil(r"(buses|panels|switches|sources)\.yaml", r" name: [^,]+,", "", "`name` is missing"),
    spoil(r".*\.yaml", r"kind: (breaker|contactor|relay)\b", r"kind: \1r", r"Did you mean `\1`"),
    spoil(EQUIPMENT, r"^    amps: (?=\d)", "    amps:", "Write one between"),
)


@cache
def demo() -> Texts:
    folder = demo_catalogue()
    return {p.name: p.read_text("utf-8") for p in folder.glob("*.yaml")}


def all_findings(reading: ReadResult) -> list[Finding]:
    if reading.catalogue is None or reading.errors:
        return list(reading.findings)
    return [*reading.findings, *chatter_findings(reading), *doubtful_conditions(reading)]


def findings_of(texts: Texts) -> Iterable[Finding]:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "tarn"
        folder.mkdir()
        (folder / "notes").symlink_to(demo_catalogue() / "notes")
        for name, text in texts.items():
            (folder / name).write_text(text, "utf-8")
        return all_findings(read(folder, follow_links=True))


def test_there_are_thirty_kinds_and_at_least_99_of_100_are_reported_well() -> None:
    assert len(KINDS) == 30
    assert len(MISSES) <= 1


def test_the_demo_itself_has_none_of_these_messages() -> None:
    assert list(findings_of(demo())) == []


@pytest.mark.parametrize(
    "number",
    # One of each kind comes first.
    [n if n < len(KINDS) else pytest.param(n, marks=pytest.mark.slow) for n in range(COUNT)],
)
def test_a_mistake_is_reported_in_its_line_with_its_fix(number: int) -> None:
    mistake = KINDS[number % len(KINDS)](demo(), random.Random(number))
    assert any(demo().get(name) != text for name, text in mistake.texts.items())
    found = list(findings_of({**demo(), **mistake.texts}))
    first = found[0] if found else None
    well = (
        first is not None
        and (first.place.file, first.place.line) == (mistake.file, mistake.line)
        and mistake.fix in f"{first.message} {first.hint}"
    )
    expected = f"{mistake.file}:{mistake.line} with {mistake.fix!r}"
    assert well == (number not in MISSES), f"{expected}; but {first}"
