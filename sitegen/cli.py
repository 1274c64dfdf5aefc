"""The commands: read arguments, call, print. No logic of the trade.

Heavy modules are imported where they are used, so that a question asked on the command line does
not wait for the page templates.
"""

from __future__ import annotations

import gc
import json
import os
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NoReturn

import click

from sitegen.arguments import (
    NO,
    Stop,
    StopWithNo,
    advice_of,
    airframe_id,
    catalogue_first,
    counted,
    errors_of,
    failing,
    network_of,
    quiz_paper,
    read,
    readable,
    reading_told,
    two_networks,
    write_file,
)
from sitegen.quiz.difficulty import DIFFICULTIES

DEBUG = "SITEGEN_DEBUG"
"""Set this environment variable to see where in the code a failure inside happened."""


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="sitegen", message="sitegen %(version)s")
def commands() -> None:
    """Answer 'what else dies?' from one wiring catalogue.

    Every command takes the catalogue first: a folder of YAML files, or one file. Without it the
    demo catalogue is used, an invented aircraft.
    """


catalogue_argument = click.argument("catalogue", required=False, type=click.Path(path_type=Path))
airframe_option = click.option("--airframe", help="Airframe id or name; else the first.")
condition_option = click.option("--condition", help="Condition id or name; else the first.")
FILE = click.Path(path_type=Path)
json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")


@commands.command()
@catalogue_argument
@click.option("--schema", is_flag=True, help="Print the format's JSON Schema, for editors.")
@json_option
def inspect(catalogue: Path | None, schema: bool, as_json: bool) -> None:
    """Check a catalogue: every problem in every file, in one run."""
    if schema:
        from sitegen.catalogue.model import json_schema

        print_json(json_schema())
        return
    reading = read(catalogue)
    errors = errors_of(reading)
    advice = advice_of(reading, errors)
    if as_json:
        print_json(
            {
                "errors": [finding_json(f) for f in errors],
                "advice": [finding_json(f) for f in advice],
            }
        )
    else:
        for title, findings in (("Errors", errors), ("Advice", advice)):
            if findings:
                click.echo(title)
                for finding in findings:
                    click.echo(f"  {finding}")
        click.echo(f"{counted(errors, 'error')}, {counted(advice, 'piece')} of advice.")
    if errors:
        sys.exit(NO)


@commands.command()
@catalogue_argument
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    default=Path("site"),
    show_default=True,
    help="The site's folder; publish replaces it whole, and only if publish made it.",
)
@click.option(
    "--pocket",
    type=click.Path(path_type=Path),
    metavar="FILE.html",
    help="Write one airframe's pages as this single file instead: for a phone, or a mail.",
)
@click.option("--airframe", help="With --pocket: the airframe by id or name; else the first.")
@click.option("--dot", envvar="SITEGEN_DOT", help="Another Graphviz dot command to place diagrams.")
@click.option("--pdf", is_flag=True, help="Write the handouts as PDF too, beside their pages.")
@click.option("--browser", envvar="SITEGEN_BROWSER", help="The Chromium or Chrome for --pdf.")
@click.option("--paper-size", "paper", type=click.Choice(["a4", "letter"]), help="Of all handouts.")
@click.pass_context
def publish(
    context: click.Context,
    catalogue: Path | None,
    target: Path,
    pocket: Path | None,
    airframe: str | None,
    dot: str | None,
    pdf: bool,
    browser: str | None,
    paper: str | None,
) -> None:
    """Write the site: plain files that open from a folder or any web host."""
    from sitegen.output.pdf import Printer
    from sitegen.output.progress import Progress
    from sitegen.output.publish import PublishRefused, write_site
    from sitegen.output.site import build_site
    from sitegen.output.workers import processors
    from sitegen.quiz.paper_pages import PRACTISE_PAGE

    if pocket is not None:
        if pdf:
            raise Stop("--pdf prints beside the pages of a folder: publish twice for both.")
        to_pocket(context, catalogue, pocket, airframe, dot, paper)
        return
    if airframe is not None:
        raise Stop("--airframe chooses what goes into one file: add --pocket FILE.html.")
    started = time.monotonic()
    reading = readable(catalogue)
    with nothing_to_collect():
        site = build_site(reading, dot, processors(), [PRACTISE_PAGE], paper)
        printer = Printer(site.handouts, reading, browser, processors()) if pdf else None
        with Progress(site.count, started) as progress:
            try:
                written = write_site(target, site.files, progress, printer or (lambda _: ()))
            except PublishRefused as refusal:
                raise Stop(str(refusal)) from None
            except OSError as error:
                raise Stop(f"{target} could not be written: {error.strerror or error}.") from None
    for notice in site.notices:
        click.echo(f"sitegen: {notice}", err=True)
    click.echo(f"{written} files in {target}. Open {target / 'index.html'}.")
    if printer and printer.problem:
        raise StopWithNo(f"the handouts were not printed: {printer.problem}")


def to_pocket(
    context: click.Context,
    catalogue: Path | None,
    target: Path,
    airframe: str | None,
    dot: str | None,
    paper: str | None,
) -> None:
    """Write a pocket edition."""
    from sitegen.answers.find import NotFound
    from sitegen.output.pocket import write_pocket
    from sitegen.output.publish import PublishRefused
    from sitegen.output.site import build_pocket
    from sitegen.output.workers import processors
    from sitegen.quiz.paper_pages import PRACTISE_PAGE

    if context.get_parameter_source("target") is not click.core.ParameterSource.DEFAULT:
        raise Stop("--to writes a folder and --pocket one file: publish twice for both.")
    reading = readable(catalogue)
    assert reading.catalogue is not None
    with nothing_to_collect():
        try:
            one = airframe_id(reading.catalogue, airframe)
            made = build_pocket(reading, one, dot, processors(), [PRACTISE_PAGE], paper)
            write_pocket(target, made.text)
        except (NotFound, PublishRefused) as problem:
            raise Stop(str(problem)) from None
        except OSError as error:
            raise Stop(f"{target} could not be written: {error.strerror or error}.") from None
    for notice in made.notices:
        click.echo(f"sitegen: {notice}", err=True)
    click.echo(f"{target}, {target.stat().st_size / 1000:,.0f} kB. Open it in a browser.")


@commands.command()
@click.argument("names", nargs=-1, metavar="[CATALOGUE] NAME...")
@airframe_option
@condition_option
@click.option("--after", is_flag=True, help="For a named failure: after the crew has acted.")
@json_option
def drop(
    names: tuple[str, ...],
    airframe: str | None,
    condition: str | None,
    after: bool,
    as_json: bool,
) -> None:
    """What is lost when these drop, all at once.

    NAME is a source, bus, device or breaker by id, name or place, with a mode after a colon if it
    matters (left-main:shorted), or a named failure.
    """
    from sitegen.answers.drop import drop as answer
    from sitegen.terminal.answer_text import loss_text

    path, wanted = catalogue_first(names)
    if not wanted:
        raise Stop("say what drops, for example: sitegen drop left-main")
    network = network_of(path, airframe)
    where, faults, named = failing(network, condition, wanted, after)
    loss = answer(network, where, faults, named.then if after and named else None)
    if as_json:
        print_json(loss.as_json(network))
        return
    normal = answer(network, where, ())
    print_lines(loss_text(network, loss, normal, named, after))


@commands.command()
@click.argument("names", nargs=-1, metavar="[CATALOGUE] NAME")
@airframe_option
@condition_option
@json_option
def trace(
    names: tuple[str, ...], airframe: str | None, condition: str | None, as_json: bool
) -> None:
    """How equipment is fed, or who provides a function; which failures take it, up to three."""
    from sitegen.answers.find import NotFound, find_condition, find_equipment, find_function
    from sitegen.answers.function_status import FunctionStatus, function_status
    from sitegen.answers.trace import Trace
    from sitegen.answers.trace import trace as answer
    from sitegen.terminal.answer_text import function_text, trace_text

    path, wanted = catalogue_first(names)
    if len(wanted) != 1:
        raise Stop("name one piece of equipment or function, for example: sitegen trace com-1")
    network = network_of(path, airframe)
    try:
        where = find_condition(network, condition) if condition else None
        function = find_function(network, wanted[0])
        found: Trace | FunctionStatus
        if function is not None:
            found = function_status(network, function, where)
        else:
            found = answer(network, find_equipment(network, wanted[0]), where)
    except NotFound as problem:
        raise Stop(str(problem)) from None
    if as_json:
        print_json(found.as_json(network))
        return
    if isinstance(found, FunctionStatus):
        print_lines(function_text(network, found))
    else:
        print_lines(trace_text(network, found))


@commands.command()
@click.argument("names", nargs=-1, metavar="[CATALOGUE] [NAME...]")
@airframe_option
@condition_option
@click.option("--after", is_flag=True, help="For a named failure: after the crew has acted.")
@click.option("--csv", "as_csv", is_flag=True, help="Print a table for a spreadsheet.")
@json_option
def loads(
    names: tuple[str, ...],
    airframe: str | None,
    condition: str | None,
    after: bool,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Amps on every source, bus and feeder; minutes on battery.

    Without a NAME, with nothing failed, and what the worst failure would make of it; with names as
    for drop, with these failed.
    """
    from sitegen.answers.loads.load_table import load_table
    from sitegen.terminal.answer_text import fault_text
    from sitegen.terminal.load_text import load_csv, load_text

    path, wanted = catalogue_first(names)
    network = network_of(path, airframe)
    where, faults, named = failing(network, condition, wanted, after)
    table = load_table(network, where, faults, named, after)
    if as_json:
        print_json(table.as_json(network))
    elif as_csv:
        click.echo(load_csv(network, [table]), nl=False)
    else:
        title = named.name if named else ", ".join(fault_text(network, *f) for f in faults)
        acted = ", after the crew has acted" if after else ""
        print_lines(load_text(network, table, f"{title}{acted}"))


@commands.command()
@click.argument("catalogue", required=False, type=click.Path(path_type=Path))
@airframe_option
@condition_option
@click.option("--dead", multiple=True, metavar="NAME", help="Equipment or a bus without power.")
@click.option("--works", multiple=True, metavar="NAME", help="Equipment or a bus that works.")
@click.option(
    "--reads", multiple=True, metavar="METER=FIGURE", help="What a meter reads, or blank."
)
@click.option("--lit", multiple=True, metavar="LAMP", help="A lamp that is lit, a flag that shows.")
@click.option("--unlit", multiple=True, metavar="LAMP", help="A lamp that is not lit.")
@click.option("--tolerance", type=float, help="How far a voltmeter may be off, V; else 1.5 or 5 %.")
@json_option
def troubleshoot(
    catalogue: Path | None,
    airframe: str | None,
    condition: str | None,
    dead: tuple[str, ...],
    works: tuple[str, ...],
    reads: tuple[str, ...],
    lit: tuple[str, ...],
    unlit: tuple[str, ...],
    tolerance: float | None,
    as_json: bool,
) -> None:
    """Which failures explain what you see, and where to look next.

    Tell as much or as little as you have. With nothing told: what each failure shows, which look
    the same, and which no indication shows.
    """
    from sitegen.answers.find import NotFound, find_condition, find_observation
    from sitegen.answers.observations import TOLERANCE_VOLTS
    from sitegen.answers.signatures import signature_table
    from sitegen.answers.troubleshoot import troubleshoot as answer
    from sitegen.solver.outcome import solve
    from sitegen.solver.scenarios import every_single
    from sitegen.terminal.diagnosis_text import (
        diagnosis_json,
        diagnosis_text,
        seen_text,
        signatures_json,
        signatures_text,
    )

    network = network_of(catalogue, airframe)
    told = [
        *((name, "dead") for name in dead),
        *((name, "works") for name in works),
        *(reading_told(text) for text in reads),
        *((name, "lit") for name in lit),
        *((name, "unlit") for name in unlit),
    ]
    try:
        where = find_condition(network, condition)
        seen = list(dict.fromkeys(find_observation(network, *one) for one in told))
    except NotFound as problem:
        raise Stop(str(problem)) from None
    subjects = [o.subject for o in seen]
    for twice in (s for s in subjects if subjects.count(s) > 1):
        said = " and ".join(seen_text(o) for o in seen if o.subject == twice)
        raise Stop(f"'{twice}' cannot be {said} at the same time.")
    if tolerance is not None and not 0 <= tolerance < 1000:
        raise Stop("--tolerance is in volts, from 0 up.")
    if not seen:
        table = signature_table(solve(network, every_single([where], network.faults)), where)
        if as_json:
            print_json(signatures_json(network, table))
        else:
            print_lines(signatures_text(network, table))
        return
    found = answer(network, where, seen, TOLERANCE_VOLTS if tolerance is None else tolerance)
    if as_json:
        print_json(diagnosis_json(network, found))
    else:
        print_lines(diagnosis_text(network, found))
    if not found.candidates:
        sys.exit(NO)


@commands.command()
@click.argument("names", nargs=-1, metavar="[CATALOGUE] [AIRFRAME AIRFRAME]")
@json_option
def differences(names: tuple[str, ...], as_json: bool) -> None:
    """How two airframes differ: in the wiring, and in what a failure takes.

    Without airframes, the first and the last of the catalogue.
    """
    from sitegen.answers.differences import differences as answer
    from sitegen.terminal.differences_text import differences_json, differences_text

    # A catalogue alone is a question here.
    alone = len(names) == 1 and os.path.exists(names[0])
    path, wanted = (Path(names[0]), names[1:]) if alone else catalogue_first(names)
    one, other = two_networks(path, wanted)
    found = answer(one, other)
    if as_json:
        print_json(differences_json(found))
    else:
        print_lines(differences_text(one, other, found))


@commands.command()
@click.argument("catalogue", required=False, type=click.Path(path_type=Path))
@airframe_option
@condition_option
@click.option("--count", type=int, default=20, show_default=True, help="How many questions.")
@click.option("--kind", "kinds", multiple=True, metavar="KIND", help="Only this kind; repeatable.")
@click.option(
    "--difficulty", type=click.Choice(DIFFICULTIES), help="Only these; else some of each."
)
@click.option("--seed", default="1", show_default=True, help="The same seed, the same paper.")
@click.option("--paper", "to_write", type=FILE, metavar="FILE", help="A paper with its key, HTML.")
@click.option("--practise", "to_practise", type=FILE, metavar="FILE", help="One page for a phone.")
@click.option("--cards", "to_cut", type=FILE, metavar="FILE", help="Cards to cut out, HTML.")
@click.option(
    "--paper-size",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="For --paper and --cards.",
)
@json_option
def quiz(
    catalogue: Path | None,
    airframe: str | None,
    condition: str | None,
    count: int,
    kinds: tuple[str, ...],
    difficulty: str | None,
    seed: str,
    to_write: Path | None,
    to_practise: Path | None,
    to_cut: Path | None,
    paper_size: str,
    as_json: bool,
) -> None:
    """Questions with answers, to print, to practise and to cut out.

    Printed here with the key after them, unless a file or --json is asked for.
    """
    from sitegen.quiz.paper_pages import paper_page, practise_page
    from sitegen.quiz.printed_cards import cards_page
    from sitegen.quiz.quiz_text import quiz_json, quiz_text

    paper = quiz_paper(catalogue, airframe, condition, count, kinds, difficulty, seed)
    files = {}
    if to_write:
        files[to_write] = paper_page(paper, paper_size)
    if to_practise:
        files[to_practise] = practise_page(paper)
    if to_cut:
        files[to_cut] = cards_page(paper, paper_size)
    if len(files) < sum(path is not None for path in (to_write, to_practise, to_cut)):
        raise Stop("--paper, --practise and --cards need files of their own.")
    for path, text in files.items():
        write_file(path, text)
    if as_json:
        print_json(quiz_json(paper))
    elif files:
        told = counted(paper.questions, "question")
        click.echo(f"{told} in {' and '.join(map(str, files))}.")
    else:
        print_lines(quiz_text(paper))


@contextmanager
def nothing_to_collect() -> Iterator[None]:
    """What is worked out stays in use: looking for garbage finds none, and takes long."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def finding_json(finding: Any) -> dict[str, Any]:
    """A finding as a plain object."""
    place = finding.place
    return {
        "file": place.file,
        "line": place.line,
        "column": place.column,
        "message": finding.message,
        "hint": finding.hint,
    }


def print_json(value: Any) -> None:
    """Print one JSON value."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def print_lines(lines: Iterable[str]) -> None:
    """Print lines of text."""
    click.echo("\n".join(lines))


def main() -> NoReturn:
    """Run a command; whatever happens, the user gets a sentence and no traceback."""
    try:
        commands(prog_name="sitegen")
    except Exception as error:
        if os.environ.get(DEBUG):
            raise
        kind = type(error).__name__
        click.echo(
            f"sitegen: something went wrong inside ({kind}: {error})."
            f" Nothing was changed. Set {DEBUG}=1 to see where, and report it.",
            err=True,
        )
        sys.exit(NO)
    sys.exit(0)
