"""What a command was given: a catalogue that must be sound, an airframe, names, readings."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sitegen.resources import demo_catalogue

if TYPE_CHECKING:
    from sitegen.catalogue.findings import Finding
    from sitegen.catalogue.model import Catalogue, Failure
    from sitegen.catalogue.read import Reading
    from sitegen.quiz.paper import Paper
    from sitegen.solver.network import Network
    from sitegen.solver.scenarios import Fault

NO = 1
"""Exit code: the catalogue has problems, or the answer is 'no'."""
CALLED_WRONGLY = 2


class Stop(click.ClickException):
    """Ends a command with one message on standard error: it was called wrongly."""

    exit_code = CALLED_WRONGLY

    def show(self, file: Any = None) -> None:
        """Print the message plainly."""
        click.echo(f"sitegen: {self.format_message()}", err=True)


class StopWithNo(Stop):
    """Ends a command because of what the catalogue says."""

    exit_code = NO


def reading_told(text: str) -> tuple[str, str]:
    """`left-volts=28` as (meter, figure)."""
    meter, equals, figure = text.partition("=")
    if not equals or not figure.strip():
        raise Stop(f"--reads {text}: write METER=FIGURE, for example --reads left-volts=28.")
    return meter, figure.strip()


def failing(
    network: Network, condition: str | None, wanted: Sequence[str], after: bool
) -> tuple[str, tuple[Fault, ...], Failure | None]:
    """The condition, all that fails at once in it, and the named failure if it is just one."""
    from sitegen.answers.find import NotFound, find_condition, find_failed

    try:
        where = find_condition(network, condition)
        meant = [find_failed(network, text) for text in wanted]
    except NotFound as problem:
        raise Stop(str(problem)) from None
    faults = tuple(dict.fromkeys(fault for found, _ in meant for fault in found))
    modes: dict[str, str] = {}
    for component, mode in faults:
        if modes.setdefault(component, mode) != mode:
            raise Stop(
                f"'{component}' cannot be {modes[component]} and {mode} at the same time:"
                " give one mode."
            )
    named = meant[0][1] if len(meant) == 1 else None
    if after and (named is None or named.then is None):
        raise Stop("--after goes with one named failure for which the catalogue has crew actions.")
    return where, faults, named


def catalogue_first(arguments: tuple[str, ...]) -> tuple[Path | None, tuple[str, ...]]:
    """Part a leading catalogue path from the names behind it.

    A word is a path if something stands there, or if it is written like one; a word that stands
    alone must be both, since a catalogue alone asks nothing.
    """
    if arguments:
        first = arguments[0]
        written = "/" in first or os.sep in first or first.endswith((".yaml", ".yml"))
        # 'NAV/COM' may be a placard, and a folder here may have a bus's name.
        there = os.path.exists(first)
        if (written and there) if len(arguments) == 1 else (written or there):
            return Path(first), arguments[1:]
    return None, arguments


def read(path: Path | None) -> Reading:
    """Read a catalogue, the demo without a path."""
    from sitegen.catalogue.read import read as read_catalogue

    if path is not None and not path.exists():
        raise Stop(
            f"there is no catalogue {str(path)!r}: name a folder of YAML files, or one file."
        )
    return read_catalogue(path or demo_catalogue())


def errors_of(reading: Reading) -> list[Finding]:
    """What is wrong with a catalogue; contactors that chatter show only when it is solved."""
    if reading.errors or reading.catalogue is None:
        return list(reading.errors)
    from sitegen.answers.chatter import chatter_findings

    return list(chatter_findings(reading))


def advice_of(reading: Reading, errors: Iterable[Finding]) -> list[Finding]:
    """What is worth a thought; what protects what shows only in a net without errors."""
    if any(errors) or reading.catalogue is None:
        return list(reading.advice)
    from sitegen.answers.protection.protection_findings import protection_findings
    from sitegen.catalogue.wire_chart import wire_rows

    found = [*reading.advice, *protection_findings(reading, wire_rows())]
    return sorted(found, key=lambda finding: finding.place)


def readable(path: Path | None) -> Reading:
    """Read a catalogue that must be free of errors; else print them and stop."""
    reading = read(path)
    problems = errors_of(reading)
    if problems or reading.catalogue is None:
        for finding in problems:
            click.echo(str(finding), err=True)
        raise StopWithNo(f"the catalogue has {counted(problems, 'error')}; nothing was done.")
    return reading


def network_of(path: Path | None, airframe: str | None) -> Network:
    """The network of one airframe of a catalogue."""
    from sitegen.answers.find import NotFound
    from sitegen.solver.network import build

    catalogue = readable(path).catalogue
    assert catalogue is not None
    try:
        return build(catalogue, airframe_id(catalogue, airframe))
    except NotFound as problem:
        raise Stop(str(problem)) from None


def two_networks(path: Path | None, wanted: tuple[str, ...]) -> tuple[Network, Network]:
    """The networks of two airframes: those named, or the catalogue's first and last."""
    from sitegen.answers.find import NotFound
    from sitegen.solver.network import build

    catalogue = readable(path).catalogue
    assert catalogue is not None
    airframes = [a.id for a in catalogue.airframes]
    if len(airframes) < 2:
        raise Stop("the catalogue has one airframe: there is nothing to compare it with.")
    if len(wanted) not in (0, 2):
        raise Stop("name two airframes to compare, or none for the first and the last.")
    try:
        ids = [airframe_id(catalogue, text) for text in wanted or (airframes[0], airframes[-1])]
    except NotFound as problem:
        raise Stop(str(problem)) from None
    if ids[0] == ids[1]:
        raise Stop(f"'{ids[0]}' and '{ids[0]}' are one airframe: name two.")
    return build(catalogue, ids[0]), build(catalogue, ids[1])


def quiz_paper(
    path: Path | None,
    airframe: str | None,
    condition: str | None,
    count: int,
    kinds: Sequence[str],
    step: str | None,
    seed: str,
) -> Paper:
    """The questions that are wanted."""
    from sitegen.answers.airframe_answers import AirframeAnswers
    from sitegen.answers.find import NotFound, find, find_condition
    from sitegen.quiz.facts import Facts
    from sitegen.quiz.kinds import KINDS
    from sitegen.quiz.paper import TooFew, make_paper
    from sitegen.solver.network import build

    if count < 1:
        raise Stop(f"--count {count}: ask for one question or more.")
    by_id = {kind.id: kind for kind in KINDS}
    try:
        names = {i: [k.asks] for i, k in by_id.items()}
        wanted = dict.fromkeys(find(text, names, "a kind of question") for text in kinds)
        reading = readable(path)
        assert reading.catalogue is not None
        here = airframe_id(reading.catalogue, airframe)
        fleet = tuple(build(reading.catalogue, a.id) for a in reading.catalogue.airframes)
        network = next(n for n in fleet if n.airframe == here)
        where = find_condition(network, condition) if condition else None
        facts = Facts(AirframeAnswers(reading, network), fleet, where)
        asked = [by_id[i] for i in wanted] or KINDS
        return make_paper(facts, count, seed, asked, step)
    except (NotFound, TooFew) as problem:
        raise Stop(str(problem)) from None


def write_file(path: Path, text: str) -> None:
    """Write a file whole, or say in one message why it cannot be."""
    from sitegen.output.atomic_write import atomic_write

    try:
        atomic_write(path, text)
    except OSError as error:
        raise Stop(f"{path} could not be written: {error.strerror or error}.") from None


def airframe_id(catalogue: Catalogue, text: str | None) -> str:
    """An airframe's id; the first without a text."""
    from sitegen.answers.find import find

    if text is None:
        return catalogue.airframes[0].id
    return find(text, {a.id: [a.name] for a in catalogue.airframes}, "an airframe")


def counted(items: Iterable[object], word: str) -> str:
    """`no errors`, `1 error`, `12 errors`."""
    number = len(list(items))
    return f"{number or 'no'} {word}{'' if number == 1 else 's'}"
