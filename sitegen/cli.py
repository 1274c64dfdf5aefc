"""The commands: read arguments, call, print. Nothing about aircraft is decided here.

Heavy modules are imported where they are used, so that a question asked on the command line does
not wait for the page templates.

Over 400 lines: it has the options of every command.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click
from click.shell_completion import CompletionItem

from sitegen.arguments import (
    DEMO,
    FOLLOW_LINKS,
    NO,
    NOT_READ_OR_WRITTEN,
    CommandError,
    CommandFailed,
    airframe_id,
    catalogue_errors,
    failed_components,
    meter_reading,
    network_for,
    networks_to_compare,
    not_written,
    print_json,
    print_lines,
    quiz_paper,
    read,
    read_without_errors,
    split_catalogue_path,
    unchecked_lines,
    write_file,
)
from sitegen.quiz.difficulty import DIFFICULTIES
from sitegen.resources import demo_catalogue
from sitegen.words import counted

if TYPE_CHECKING:
    from sitegen.answers.unchecked import Unchecked

DEBUG = "SITEGEN_DEBUG"
"""Set this environment variable to see the traceback of an internal error."""


class _Commands(click.Group):
    """Reports a name that is not known, or a refusal, as the one message of a wrong call."""

    def invoke(self, context: click.Context) -> Any:
        try:
            return super().invoke(context)
        except Exception as error:
            from sitegen.answers.find import NotFound
            from sitegen.output.publish import PublishRefused
            from sitegen.quiz.paper import TooFew

            if isinstance(error, NotFound) and context.meta.get(DEMO):
                to_name = "Name your catalogue, a folder or a file, to ask about another aircraft."
                raise CommandError(f"{error} {to_name}") from None
            if isinstance(error, (NotFound, PublishRefused, TooFew)):
                raise CommandError(str(error)) from None
            raise


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="sitegen", message="sitegen %(version)s")
def commands() -> None:
    """Say what else loses power when something fails, from one wiring catalogue.

    Every command takes a catalogue, a folder of YAML files or one file: the argument that exists
    as a path. Without one the demo answers, an invented aircraft, and the first line says so.
    """


def offers(*sections: str, **options: Any) -> Callable[..., list[CompletionItem]]:
    """What a shell offers for an argument: ids of these sections (`sitegen.completion.ids`)."""

    def complete(context: click.Context, _: click.Parameter, begun: str) -> list[CompletionItem]:
        from sitegen.completion import ids

        return ids(context, begun, sections, **options)

    return complete


FILE = click.Path(path_type=Path)
catalogue_argument = click.argument("catalogue", required=False, type=FILE)
airframe_option = click.option(
    "--airframe",
    help="Airframe id or name; else the first.",
    shell_complete=offers("airframes"),
)
condition_option = click.option(
    "--condition",
    help="Condition id or name; else the first.",
    shell_complete=offers("conditions"),
)
offers_failures = offers(
    *("failures", "buses", "sources", "devices", "breakers"), may_be_catalogue=True, with_modes=True
)
offers_states = offers("equipment", "buses")
offers_lamps = offers("indications", kinds=("lamp", "flag"))


def _follow_links(context: click.Context, _: click.Parameter, chosen: bool) -> None:
    context.meta[FOLLOW_LINKS] = chosen


follow_links_option = click.option(
    "--follow-links",
    is_flag=True,
    expose_value=False,
    callback=_follow_links,
    help="Read links too that lead out of the catalogue's folder.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")


@commands.command()
@catalogue_argument
@click.option("--schema", is_flag=True, help="Print the format's JSON Schema, for editors.")
@click.option("--fields", is_flag=True, help="Print the format field by field, as Markdown.")
@click.option("--rules", is_flag=True, help="Print the codes of all messages as a table.")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "github", "sarif"]),
    default="text",
    help="For editors and build servers; --json is --format json.",
)
@click.option("--unchecked", is_flag=True, help="List the lines that nobody has checked.")
@follow_links_option
@json_option
def inspect(
    catalogue: Path | None,
    schema: bool,
    fields: bool,
    rules: bool,
    unchecked: bool,
    form: str,
    as_json: bool,
) -> None:
    """Check a catalogue: every problem in every file, in one run."""
    from sitegen.inspection import list_unchecked, report_findings

    if schema:
        from sitegen.catalogue.json_schema import json_schema

        print_json(json_schema())
    elif fields:
        from sitegen.catalogue.format_page import format_page

        click.echo(format_page())
    elif rules:
        from sitegen.catalogue.rule_codes import rule_table

        click.echo(rule_table())
    elif unchecked:
        list_unchecked(catalogue, as_json or form == "json")
    else:
        report_findings(catalogue, "json" if as_json else form)


@commands.command()
@catalogue_argument
@click.option(
    "--to",
    "target",
    type=FILE,
    default=Path("site"),
    show_default=True,
    help="The site's folder; publish replaces all of it, but only if publish made it.",
)
@click.option(
    "--pocket",
    type=FILE,
    metavar="FILE.html",
    help="Write one airframe's pages as this single file instead, for a phone or a mail.",
)
@click.option(
    "--airframe",
    help="With --pocket: airframe id or name; else the first.",
    shell_complete=offers("airframes"),
)
@click.option("--dot", envvar="SITEGEN_DOT", help="Another Graphviz dot command.")
@click.option("--pdf", is_flag=True, help="Write the handouts as PDF too, beside their pages.")
@click.option("--browser", envvar="SITEGEN_BROWSER", help="Chromium or Chrome, for --pdf.")
@click.option("--paper-size", "paper", type=click.Choice(["a4", "letter"]), help="Of all handouts.")
@click.option(
    "--since",
    metavar="OLD",
    help="An older catalogue, or git revision of this one: show what has changed since, with bars.",
)
@follow_links_option
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
    since: str | None,
) -> None:
    """Write the site: plain files that open from a folder or any web host."""
    from sitegen.output.pdf import Printer
    from sitegen.output.progress import Progress
    from sitegen.output.publish import write_site
    from sitegen.output.site import build_site
    from sitegen.output.workers import processors
    from sitegen.quiz.paper_pages import PRACTISE_PAGE
    from sitegen.revisions import older_reading

    if pocket is not None:
        if pdf:
            raise CommandError("--pdf needs a folder, not --pocket: publish twice for both.")
        publish_pocket(context, catalogue, pocket, airframe, dot, paper, since)
        return
    if airframe is not None:
        raise CommandError("--airframe is for a pocket edition: add --pocket FILE.html.")
    started = time.monotonic()
    reading = read_without_errors(catalogue)
    older = older_reading(since, catalogue)
    with garbage_collection_off():
        site = build_site(
            reading, dot, processors(), [PRACTISE_PAGE], paper, since=older, smallest=True
        )
        printer = Printer(site.handouts, reading, browser, processors()) if pdf else None
        with Progress(site.count, started) as progress:
            try:
                written = write_site(target, site.files, progress, printer or (lambda _: ()))
            except OSError as error:
                raise not_written(target, error) from None
    for notice in site.notices:
        click.echo(f"sitegen: {notice}", err=True)
    click.echo(f"{written} files in {target}. Open {target / 'index.html'}.")
    if printer and printer.problem:
        raise CommandFailed(f"the handouts were not printed: {printer.problem}")


@commands.command()
@catalogue_argument
@click.option("--port", type=click.IntRange(0, 65535), default=8019, show_default=True)
@click.option("--host", default="localhost", show_default=True, help="Another lets others read it.")
@click.option("--dot", envvar="SITEGEN_DOT", help="Another Graphviz dot command.")
@follow_links_option
def preview(catalogue: Path | None, port: int, host: str, dot: str | None) -> None:
    """Show the site in a browser while you write: a page follows when a file is saved."""
    from sitegen.catalogue.read import read as read_catalogue
    from sitegen.output.preview import Preview, Server
    from sitegen.quiz.paper_pages import PRACTISE_PAGE

    read(catalogue)
    path = catalogue or demo_catalogue()
    follow_links = click.get_current_context().meta.get(FOLLOW_LINKS, False)
    shown = Preview(
        path,
        # A file that an editor replaces is not there for a moment: no reason to end.
        lambda: read_catalogue(path, follow_links),
        lambda reading: [str(error) for error in catalogue_errors(reading)],
        dot,
        [PRACTISE_PAGE],
    )
    try:
        server = Server(shown, host, port)
    except OSError as error:
        raise CommandFailed(
            f"{host} port {port} cannot be used: {error.strerror}. Name another with --port."
        ) from None
    shown.look()
    for message in shown.messages:
        click.echo(message, err=True)
    click.echo(f"{server.address} shows {path}. Save a file and the page follows; Ctrl C ends it.")
    try:
        server.watch()
    except KeyboardInterrupt:
        click.echo("")


def publish_pocket(
    context: click.Context,
    catalogue: Path | None,
    target: Path,
    airframe: str | None,
    dot: str | None,
    paper: str | None,
    since: str | None,
) -> None:
    """Write a pocket edition."""
    from sitegen.output.pocket import write_pocket
    from sitegen.output.site import build_pocket
    from sitegen.output.workers import processors
    from sitegen.quiz.paper_pages import PRACTISE_PAGE
    from sitegen.revisions import older_reading

    if context.get_parameter_source("target") is not click.core.ParameterSource.DEFAULT:
        raise CommandError("--to writes a folder and --pocket one file: publish twice for both.")
    reading = read_without_errors(catalogue)
    older = older_reading(since, catalogue)
    assert reading.catalogue is not None
    with garbage_collection_off():
        airframe = airframe_id(reading.catalogue, airframe)
        more = [PRACTISE_PAGE]
        text, notices = build_pocket(reading, airframe, dot, processors(), more, paper, older)
        try:
            write_pocket(target, text)
        except OSError as error:
            raise not_written(target, error) from None
    for notice in notices:
        click.echo(f"sitegen: {notice}", err=True)
    click.echo(f"{target}, {target.stat().st_size / 1000:,.0f} kB. Open it in a browser.")


dip_option = click.option(
    "--dip",
    is_flag=True,
    help="Contactors drop out while a short holds volts down, but for those that the catalogue says"
    " ride through. Left out: those alone of which it says that they drop out.",
)
overload_option = click.option("--overload", is_flag=True, help="What is overloaded opens.")


def refuse_two_answers(dip: bool, overload: bool) -> None:
    """What is overloaded opens in the answer to expect."""
    if dip and overload:
        raise click.UsageError("--dip and --overload are two answers: ask for one of them.")


@commands.command()
@click.argument("names", nargs=-1, metavar="[CATALOGUE] NAME...", shell_complete=offers_failures)
@airframe_option
@condition_option
@click.option("--after", is_flag=True, help="For a named failure: after the crew has acted.")
@dip_option
@overload_option
@click.option("--because", "why", is_flag=True, help="Say step by step how it comes about.")
@follow_links_option
@json_option
def drop(
    names: tuple[str, ...],
    airframe: str | None,
    condition: str | None,
    after: bool,
    dip: bool,
    overload: bool,
    why: bool,
    as_json: bool,
) -> None:
    """What is lost when all of these fail at once.

    NAME is a source, bus, device or breaker by id, name or panel position, with a mode after a
    colon where it has several (forward:shorted), or a named failure.
    """
    from sitegen.answers.because import because
    from sitegen.answers.besides import differs
    from sitegen.answers.dip_decides import may_drop_out
    from sitegen.answers.drop import drop as answer
    from sitegen.terminal.drop_text import loss_text

    refuse_two_answers(dip, overload)
    path, wanted = split_catalogue_path(names)
    if not wanted:
        raise CommandError("name what fails, for example: sitegen drop forward")
    network = network_for(path, airframe)
    where, faults, named = failed_components(network, condition, wanted, after)
    then = named.crew_does(where) if after and named else None
    loss = answer(network, where, faults, then, dip)
    other = None
    if may_drop_out(network, faults):
        other = answer(network, where, faults, then, dip=not dip)
    if overload:
        opened = answer(network, where, faults, then, overload=True)
        # To open what is overloaded and to drop out are two questions.
        other = None if differs(opened, loss) else other
        loss = opened
    explained = why or as_json
    events = because(network, where, faults, then, dip, overload=overload) if explained else ()
    normal = answer(network, where, ())
    as_object = {**loss.as_json(network), "because": [event.as_json() for event in events]}
    text = loss_text(network, loss, normal, named, after, other, dip, overload, events)
    named_lines = [f"failures {named.id}"] if named else []
    print_answer(
        as_json, as_object, text, unchecked_lines(network, names=[*loss.names, *named_lines])
    )


@commands.command()
@click.argument(
    "names",
    nargs=-1,
    metavar="[CATALOGUE] NAME",
    shell_complete=offers("equipment", "functions", may_be_catalogue=True),
)
@airframe_option
@condition_option
@follow_links_option
@json_option
def trace(
    names: tuple[str, ...], airframe: str | None, condition: str | None, as_json: bool
) -> None:
    """How equipment is fed, or what provides a function; which failures, up to three, take it."""
    from sitegen.answers.find import find_condition, find_equipment, find_function
    from sitegen.answers.function_status import function_status
    from sitegen.answers.trace import trace as answer
    from sitegen.terminal.function_text import function_text
    from sitegen.terminal.trace_text import trace_text

    path, wanted = split_catalogue_path(names)
    if len(wanted) != 1:
        raise CommandError(
            "name one piece of equipment or function, for example: sitegen trace com-1"
        )
    network = network_for(path, airframe)
    where = find_condition(network, condition) if condition else None
    function = find_function(network, wanted[0])
    if function is not None:
        status = function_status(network, function, where)
        unchecked = unchecked_lines(network, names=[f"functions {function}"])
        print_answer(as_json, status.as_json(network), function_text(network, status), unchecked)
    else:
        traced = answer(network, find_equipment(network, wanted[0]), where)
        unchecked = unchecked_lines(network, names=[traced.equipment])
        print_answer(as_json, traced.as_json(network), trace_text(network, traced), unchecked)


@commands.command()
@click.argument("names", nargs=-1, metavar="[CATALOGUE] [NAME...]", shell_complete=offers_failures)
@airframe_option
@condition_option
@click.option("--after", is_flag=True, help="For a named failure: after the crew has acted.")
@dip_option
@overload_option
@click.option("--csv", "as_csv", is_flag=True, help="Print a table for a spreadsheet.")
@follow_links_option
@json_option
def loads(
    names: tuple[str, ...],
    airframe: str | None,
    condition: str | None,
    after: bool,
    dip: bool,
    overload: bool,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Amps on every source, bus and feeder; minutes on battery.

    With names as for drop: when these have failed. Without: when nothing has, with the worst that
    a single failure makes of each figure.
    """
    from sitegen.answers.dip_decides import has_short
    from sitegen.answers.loads.load_table import load_table
    from sitegen.terminal.load_csv import load_csv
    from sitegen.terminal.load_text import load_text
    from sitegen.terminal.shared_text import fault_text

    refuse_two_answers(dip, overload)
    path, wanted = split_catalogue_path(names)
    if not wanted and (overload or dip):
        raise CommandError("--dip and --overload are answers to a failure: name it.")
    network = network_for(path, airframe)
    where, faults, named = failed_components(network, condition, wanted, after)
    dip = dip and has_short(network.nodes, faults)
    table = load_table(network, where, faults, named, after, dip, overload)
    if as_csv and not as_json:
        click.echo(load_csv(network, [table]), nl=False)
    else:
        title = named.name if named else ", ".join(fault_text(network, *f) for f in faults)
        acted = ", after the crew has acted" if after else ""
        text = load_text(network, table, f"{title}{acted}", named)
        print_answer(as_json, table.as_json(network), text, unchecked_lines(network))


@commands.command()
@catalogue_argument
@airframe_option
@condition_option
@click.option(
    "--dead",
    multiple=True,
    metavar="NAME",
    help="Equipment or a bus without power.",
    shell_complete=offers_states,
)
@click.option(
    "--works",
    multiple=True,
    metavar="NAME",
    help="Equipment or a bus that works.",
    shell_complete=offers_states,
)
@click.option(
    "--reads",
    multiple=True,
    metavar="METER=FIGURE",
    help="What a meter reads, or blank.",
    shell_complete=offers("indications", kinds=("voltmeter", "ammeter", "loadmeter")),
)
@click.option(
    "--lit",
    multiple=True,
    metavar="LAMP",
    help="A lamp that is lit, a flag that shows.",
    shell_complete=offers_lamps,
)
@click.option(
    "--unlit",
    multiple=True,
    metavar="LAMP",
    help="A lamp that is not lit.",
    shell_complete=offers_lamps,
)
@click.option("--tolerance", type=float, help="How far a voltmeter may be off, V; else 1.5 or 5 %.")
@follow_links_option
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
    """Which failures explain what you see, and what to check next.

    Without observations: what each failure shows, which failures show the same, and which no
    indication shows.
    """
    from sitegen.answers.find import find_condition, find_observation
    from sitegen.answers.readings import TOLERANCE_VOLTS
    from sitegen.answers.signatures import signature_table
    from sitegen.answers.single_failures import single_failures
    from sitegen.answers.troubleshoot import troubleshoot as answer
    from sitegen.solver.outcome import condition_states
    from sitegen.terminal.diagnosis_json import diagnosis_json
    from sitegen.terminal.diagnosis_text import diagnosis_text, seen_text
    from sitegen.terminal.signatures_text import signatures_json, signatures_text

    network = network_for(catalogue, airframe)
    observed = [
        *((name, "dead") for name in dead),
        *((name, "works") for name in works),
        *(meter_reading(text) for text in reads),
        *((name, "lit") for name in lit),
        *((name, "unlit") for name in unlit),
    ]
    where = find_condition(network, condition)
    observations = dict.fromkeys(find_observation(network, *one) for one in observed)
    subjects = [o.subject for o in observations]
    for subject in (s for s in subjects if subjects.count(s) > 1):
        states = " and ".join(seen_text(o) for o in observations if o.subject == subject)
        raise CommandError(f"'{subject}' cannot be {states} at the same time.")
    if tolerance is not None and not 0 <= tolerance < 1000:
        raise CommandError("--tolerance is in volts, from 0 to below 1000.")
    if not observations:
        failures = single_failures(network, condition_states(network), [where])
        table = signature_table(failures, where)
        shown = signatures_text(network, table)
        print_answer(as_json, signatures_json(network, table), shown, unchecked_lines(network))
        return
    volts = TOLERANCE_VOLTS if tolerance is None else tolerance
    diagnosis = answer(network, where, list(observations), volts)
    text = diagnosis_text(network, diagnosis)
    print_answer(as_json, diagnosis_json(network, diagnosis), text, unchecked_lines(network))
    if not diagnosis.candidates and not diagnosis.nothing_failed_fits:
        sys.exit(NO)


@commands.command()
@click.argument(
    "names",
    nargs=-1,
    metavar="[CATALOGUE] [AIRFRAME AIRFRAME]",
    shell_complete=offers("airframes", may_be_catalogue=True),
)
@follow_links_option
@json_option
def differences(names: tuple[str, ...], as_json: bool) -> None:
    """How two airframes differ: in the wiring, and in what a failure takes.

    Without airframes, the first and the last of the catalogue.
    """
    from sitegen.answers.differences import differences as answer
    from sitegen.answers.reading_changes import reading_changes
    from sitegen.terminal.differences_text import differences_json, differences_text

    path, wanted = split_catalogue_path(names)
    one, other = networks_to_compare(path, wanted)
    between = answer(one, other)
    read = list(reading_changes(one, other))
    text = differences_text(one, other, between, read)
    print_answer(as_json, differences_json(between, read), text, unchecked_lines(one, other))


@commands.command()
@click.argument(
    "names",
    nargs=-1,
    metavar="OLD [NEW]",
    shell_complete=lambda context, parameter, begun: [CompletionItem(begun, type="file")],
)
@click.option(
    "--at",
    "folder",
    type=FILE,
    metavar="FOLDER",
    help="OLD and NEW are git revisions of this catalogue; without NEW, OLD and as it is now.",
)
@follow_links_option
@json_option
def changes(names: tuple[str, ...], folder: Path | None, as_json: bool) -> None:
    """What a revision changes: in the records, and in what failures take.

    OLD and NEW are catalogues, or with --at git revisions of one.
    """
    from sitegen.answers.changes import changes as answer
    from sitegen.revisions import two_readings
    from sitegen.terminal.changes_text import changes_json, changes_text

    between = answer(*two_readings(names, folder))
    newer = [network for _, network in between.networks.values()]
    unchecked = unchecked_lines(*newer) if newer else None
    print_answer(as_json, changes_json(between), changes_text(between), unchecked)


@commands.command()
@catalogue_argument
@airframe_option
@condition_option
@click.option("--count", type=int, default=20, show_default=True, help="How many questions.")
@click.option("--kind", "kinds", multiple=True, metavar="KIND", help="Only this kind; repeatable.")
@click.option(
    "--difficulty", type=click.Choice(DIFFICULTIES), help="Only this difficulty; else some of each."
)
@click.option("--seed", default="1", show_default=True, help="The same seed gives the same paper.")
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
@follow_links_option
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

    Printed on the terminal with the key after them, unless a file or --json is asked for.
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
        raise CommandError("--paper, --practise and --cards need a file each.")
    for path, text in files.items():
        write_file(path, text)
    if as_json:
        print_json(quiz_json(paper))
    elif files:
        number = counted(len(paper.questions), "question")
        click.echo(f"{number} in {' and '.join(map(str, files))}.")
    else:
        print_lines(quiz_text(paper))


def offers_fields(_: click.Context, __: click.Parameter, begun: str) -> list[CompletionItem]:
    """What a shell offers for `--column`: the fields, each with its equals sign."""
    from sitegen.catalogue.list_meanings import MEANINGS, field_name

    texts = [f"{field_name(meaning)}=" for meaning in MEANINGS]
    return [CompletionItem(text) for text in texts if text.startswith(begun)]


column_option = click.option(
    "--column",
    "columns",
    metavar="FIELD=HEADING",
    multiple=True,
    shell_complete=offers_fields,
    help="Which column of the list is what, by its heading or letter: bus=Feeder. Repeat it for"
    " other columns. Fields: bus, breaker, amps, panel, position, equipment, ata, amps-drawn, wire,"
    " serials, reference, checked, equipment-id, breaker-or-fuse, breaker-id,"
    " serials-of-this-supply.",
)


@commands.command()
@click.argument("folder", type=FILE)
@click.option("--name", help="The aircraft's name; asked for if left out.")
@click.option("--sources", type=click.IntRange(1, 20), help="How many; the last is a battery.")
@click.option("--buses", type=click.IntRange(1, 40), help="How many; a list names its own.")
@click.option(
    "--from", "list_file", type=FILE, metavar="LIST", help="A breaker list: CSV, XLSX or ODS."
)
@click.option("--sheet", help="Which sheet of the list.")
@column_option
def start(
    folder: Path,
    name: str | None,
    sources: int | None,
    buses: int | None,
    list_file: Path | None,
    sheet: str | None,
    columns: tuple[str, ...],
) -> None:
    """Write a new catalogue to grow from, with comments; from a breaker list if there is one.

    FOLDER must be new or empty: nothing is overwritten.
    """
    from sitegen.lists import start_catalogue

    start_catalogue(folder, name, sources, buses, list_file, sheet, columns)


@commands.command("import")
@click.argument("catalogue", type=FILE)
@click.argument("list_file", type=FILE, metavar="LIST")
@click.option("--sheet", help="Which sheet of the list.")
@column_option
@click.option("--write", is_flag=True, help="Make the changes; without it they are only shown.")
@follow_links_option
def import_list(
    catalogue: Path, list_file: Path, sheet: str | None, columns: tuple[str, ...], write: bool
) -> None:
    """Compare a breaker list (CSV, XLSX, ODS) with a catalogue, and update the catalogue.

    Nothing is written without --write. A list never deletes: an empty cell says nothing.
    """
    from sitegen.lists import import_into

    import_into(catalogue, list_file, sheet, columns, write)


@commands.command()
@catalogue_argument
@click.option("--to", "target", type=FILE, required=True, metavar="FILE", help=".csv or .xlsx")
@click.option("--replace", is_flag=True, help="Replace the file if it exists.")
@follow_links_option
def export(catalogue: Path | None, target: Path, replace: bool) -> None:
    """Write equipment and breakers as a list for a spreadsheet; `import` reads it again."""
    from sitegen.lists import export_list

    export_list(catalogue, target, replace)


@contextmanager
def garbage_collection_off() -> Iterator[None]:
    """Everything computed stays in use: collecting garbage takes long and frees nothing."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def print_answer(
    as_json: bool, value: Any, lines: Iterable[str], unchecked: Unchecked | None = None
) -> None:
    """Print an answer as JSON or as text, whose lines are made as they are printed.

    `unchecked` is about the lines of the catalogue that it depends on.
    """
    if as_json:
        print_json({**value, "unchecked": unchecked.as_json()} if unchecked else value)
    else:
        print_lines(lines)
        if unchecked:
            click.echo(unchecked.text)


def main() -> NoReturn:
    """Run a command; on an internal error the user gets one sentence and no traceback."""
    # Nearly all that is computed stays in use to the end: garbage is looked for seldom, and not
    # when Python ends, which would take longer than many an answer.
    gc.set_threshold(1_000_000)
    atexit.register(gc.freeze)
    try:
        commands(prog_name="sitegen")
    except OSError as error:
        # What could not be printed would be tried again when Python ends, and fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        what = error.filename or "the output"
        reason = error.strerror or error
        click.echo(f"sitegen: {what} could not be read or written: {reason}.", err=True)
        sys.exit(NOT_READ_OR_WRITTEN)
    except Exception as error:
        if os.environ.get(DEBUG):
            raise
        kind = type(error).__name__
        click.echo(
            f"sitegen: internal error ({kind}: {error})."
            f" Nothing was changed. Set {DEBUG}=1 to see where it happened, and report it.",
            err=True,
        )
        sys.exit(NO)
    sys.exit(0)
