"""From a command's arguments to what they name: catalogue, airframe, condition, failures, readings.

`--airframe` is resolved here (`airframe_id`). Names are looked up in `sitegen.answers.find`.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sitegen.resources import demo_catalogue
from sitegen.words import counted

if TYPE_CHECKING:
    from sitegen.answers.unchecked import Unchecked
    from sitegen.catalogue.findings import Finding
    from sitegen.catalogue.model import Catalogue, Failure
    from sitegen.catalogue.read import ReadResult
    from sitegen.quiz.paper import Paper
    from sitegen.solver.network import Network
    from sitegen.solver.scenarios import Fault

FOLLOW_LINKS = "sitegen.follow_links"
"""In `meta` of a command's context: whether links out of the catalogue's folder are read."""

CATALOGUE = "sitegen.catalogue"
"""In `meta` of a command's context: the catalogue that was read, for the whole fleet."""

DEMO = "sitegen.demo"
"""In `meta` of a command's context: whether the demo answers because no catalogue is named."""

NO = 1
"""Exit code: the catalogue has problems, or the answer is 'no'."""
WRONG_USAGE = 2
"""Exit code: the command was called wrongly."""
NOT_READ_OR_WRITTEN = 3
"""Exit code: a file or folder does not exist, or could not be written."""


class CommandError(click.ClickException):
    """Ends a command with one message on standard error: it was called wrongly."""

    exit_code = WRONG_USAGE

    def show(self, file: Any = None) -> None:
        """Print the message."""
        click.echo(f"sitegen: {self.format_message()}", err=True)


class CommandFailed(CommandError):
    """Ends a command that was called correctly and cannot do what it was asked."""

    exit_code = NO


class NotReadOrWritten(CommandError):
    """Ends a command that names a catalogue which does not exist, or a file it can't write."""

    exit_code = NOT_READ_OR_WRITTEN


def meter_reading(text: str) -> tuple[str, str]:
    """`left-volts=28` as (meter, figure)."""
    meter, equals, figure = text.partition("=")
    if not equals or not figure.strip():
        raise CommandError(
            f"--reads {text}: write METER=FIGURE, for example --reads left-volts=28."
        )
    return meter, figure.strip()


def failed_components(
    network: Network, condition: str | None, names: Sequence[str], after: bool
) -> tuple[str, tuple[Fault, ...], Failure | None]:
    """The condition, all faults at once, and the named failure if the only name is one."""
    from sitegen.answers.find import find_condition, find_failed

    condition_id = find_condition(network, condition)
    failed = [find_failed(network, name) for name in names]
    faults = tuple(dict.fromkeys(fault for of_name, _ in failed for fault in of_name))
    modes: dict[str, str] = {}
    for component, mode in faults:
        if modes.setdefault(component, mode) != mode:
            raise CommandError(
                f"'{component}' cannot be {modes[component]} and {mode} at the same time:"
                " give one mode."
            )
    named = failed[0][1] if len(failed) == 1 else None
    if after and not (named and named.has_acts):
        raise CommandError(
            "--after needs one named failure that has crew actions in the catalogue."
        )
    return condition_id, faults, named


def split_catalogue_path(arguments: Sequence[str]) -> tuple[Path | None, tuple[str, ...]]:
    """The catalogue among a command's arguments, if one is named, and the names.

    The first argument that exists as a path is the catalogue. Where none does, a word that is
    written like a path is a mistyped one: the demo must not answer for it. Beside a catalogue it
    is a name, for 'NAV/COM' may be a placard.
    """
    for index, argument in enumerate(arguments):
        if os.path.exists(argument):
            return Path(argument), (*arguments[:index], *arguments[index + 1 :])
    for argument in arguments:
        if "/" in argument or os.sep in argument or argument.endswith((".yaml", ".yml")):
            raise _no_catalogue(argument)
    return None, tuple(arguments)


def read(path: Path | None) -> ReadResult:
    """Read a catalogue; without a path the demo, and say so first.

    That line is on standard output, or on standard error beside what a program reads.
    """
    from sitegen.catalogue.read import read as read_catalogue

    if path is not None and not path.exists():
        raise _no_catalogue(str(path))
    context = click.get_current_context()
    reading = read_catalogue(path or demo_catalogue(), context.meta.get(FOLLOW_LINKS, False))
    context.meta[CATALOGUE] = reading.catalogue
    if path is None and reading.catalogue is not None:
        options = context.params
        demo = f"the demo, the invented aircraft {reading.catalogue.aircraft.name}"
        as_text = options.get("form", "text") == "text"
        for_a_program = bool(options.get("as_json") or options.get("as_csv") or not as_text)
        click.echo(f"No catalogue is named, so this is about {demo}.", err=for_a_program)
        context.meta[DEMO] = True
    return reading


def _no_catalogue(text: str) -> CommandError:
    """The message for a path to nothing."""
    return NotReadOrWritten(
        f"there is no catalogue {text!r}: name a folder of YAML files, or one file."
    )


def catalogue_errors(reading: ReadResult) -> list[Finding]:
    """The errors of a catalogue; whether contactors chatter shows only when it is solved."""
    if reading.errors or reading.catalogue is None:
        return list(reading.errors)
    from sitegen.answers.chatter import chatter_findings

    return list(chatter_findings(reading))


def catalogue_advice(reading: ReadResult, errors: Iterable[Finding]) -> list[Finding]:
    """The advice on a catalogue; protection is judged only when there are no errors."""
    if any(errors) or reading.catalogue is None:
        return list(reading.advice)
    from sitegen.answers.doubtful_conditions import doubtful_conditions
    from sitegen.answers.protection.protection_findings import protection_findings
    from sitegen.catalogue.wire_chart import wire_rows

    findings = [
        *reading.advice,
        *doubtful_conditions(reading),
        *protection_findings(reading, wire_rows()),
    ]
    return sorted(findings, key=lambda finding: finding.place)


def read_without_errors(path: Path | None, name: str = "") -> ReadResult:
    """Read a catalogue that must have no errors; else print them and stop.

    `name` is what messages call it where a command reads two.
    """
    reading = read(path)
    errors = catalogue_errors(reading)
    if errors or reading.catalogue is None:
        if click.get_current_context().params.get("as_json"):
            print_json({"errors": [finding_json(finding, reading) for finding in errors]})
        for finding in errors:
            click.echo(f"{name}: {finding}" if name else str(finding), err=True)
        number = counted(len(errors), "error")
        raise CommandFailed(f"{name or 'the catalogue'} has {number}; nothing was done.")
    return reading


def network_for(path: Path | None, airframe: str | None) -> Network:
    """The network of one airframe of a catalogue."""
    from sitegen.solver.network import build

    catalogue = read_without_errors(path).catalogue
    assert catalogue is not None
    return build(catalogue, airframe_id(catalogue, airframe))


def unchecked_lines(*networks: Network, names: Iterable[str] | None = None) -> Unchecked | None:
    """How many of the lines that an answer depends on are not checked (`unchecked_of`)."""
    from sitegen.answers.unchecked import AirframeLines, unchecked_of

    catalogue: Catalogue = click.get_current_context().meta[CATALOGUE]
    return unchecked_of([AirframeLines(catalogue, network) for network in networks], names)


def networks_to_compare(path: Path | None, names: tuple[str, ...]) -> tuple[Network, Network]:
    """The networks of two airframes: those named, or the catalogue's first and last."""
    from sitegen.solver.network import build

    catalogue = read_without_errors(path).catalogue
    assert catalogue is not None
    airframes = [a.id for a in catalogue.airframes]
    if len(airframes) < 2:
        raise CommandError("the catalogue has one airframe: there is no other to compare it with.")
    if len(names) not in (0, 2):
        raise CommandError("name two airframes to compare, or none for the first and the last.")
    ids = [airframe_id(catalogue, text) for text in names or (airframes[0], airframes[-1])]
    if ids[0] == ids[1]:
        raise CommandError(f"both names mean one airframe, '{ids[0]}': name two.")
    return build(catalogue, ids[0]), build(catalogue, ids[1])


def quiz_paper(
    path: Path | None,
    airframe: str | None,
    condition: str | None,
    count: int,
    kinds: Sequence[str],
    difficulty: str | None,
    seed: str,
) -> Paper:
    """The questions of a quiz."""
    from sitegen.answers.airframe_answers import AirframeAnswers
    from sitegen.answers.find import find, find_condition
    from sitegen.quiz.facts import Facts
    from sitegen.quiz.kinds import KINDS
    from sitegen.quiz.paper import make_paper
    from sitegen.solver.network import build

    if count < 1:
        raise CommandError(f"--count {count}: ask for one question or more.")
    by_id = {kind.id: kind for kind in KINDS}
    names = {i: [k.asks] for i, k in by_id.items()}
    wanted = dict.fromkeys(find(text, names, "a kind of question") for text in kinds)
    reading = read_without_errors(path)
    assert reading.catalogue is not None
    of_airframe = airframe_id(reading.catalogue, airframe)
    fleet = tuple(build(reading.catalogue, a.id) for a in reading.catalogue.airframes)
    network = next(n for n in fleet if n.airframe == of_airframe)
    only_in = find_condition(network, condition) if condition else None
    facts = Facts(AirframeAnswers(reading, network), fleet, only_in)
    return make_paper(facts, count, seed, [by_id[i] for i in wanted] or KINDS, difficulty)


def finding_json(finding: Finding, reading: ReadResult) -> dict[str, Any]:
    """A finding of a catalogue as a plain object."""
    from sitegen.catalogue.token_ends import end_column

    place = finding.place
    return {
        "file": place.file,
        "line": place.line,
        "column": place.column,
        "rule": finding.rule,
        "message": finding.message,
        "hint": finding.hint,
        "end_column": end_column(place, reading.texts),
    }


def print_json(value: Any) -> None:
    """Print one JSON value."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def print_lines(lines: Iterable[str]) -> None:
    """Print lines of text."""
    click.echo("\n".join(lines))


def write_file(path: Path, content: str | bytes) -> None:
    """Write a file whole, or end the command with the reason."""
    from sitegen.output.atomic_write import atomic_write

    try:
        atomic_write(path, content)
    except OSError as error:
        raise not_written(path, error) from None


def not_written(path: Path, error: OSError) -> CommandError:
    """The message for a file or folder that the system did not let us write."""
    return NotReadOrWritten(f"{path} could not be written: {error.strerror or error}.")


def airframe_id(catalogue: Catalogue, text: str | None) -> str:
    """The id of the airframe that `--airframe` names by id, name or one of its serial numbers;
    without it, the first.
    """
    from sitegen.answers.find import find
    from sitegen.catalogue.serials import ranges, shared_serials

    if text is None:
        return catalogue.airframes[0].id
    if text.isascii() and text.isdigit() and text not in {a.id for a in catalogue.airframes}:
        for airframe in catalogue.airframes:
            if airframe.serials and shared_serials(ranges(text), ranges(airframe.serials)):
                return airframe.id
    return find(text, {a.id: [a.name] for a in catalogue.airframes}, "an airframe")
