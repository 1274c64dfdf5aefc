"""The commands about breaker lists: start a catalogue, import a list, export one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from sitegen.arguments import (
    CommandError,
    CommandFailed,
    NotReadOrWritten,
    not_written,
    read_without_errors,
    write_file,
)
from sitegen.catalogue.breaker_list import ListRow, sheet_rows
from sitegen.catalogue.list_changes import compare
from sitegen.catalogue.list_columns import ListError, chosen_columns, match_columns
from sitegen.catalogue.list_contradictions import (
    contradictions,
    duplicates,
    incomplete,
    overlaps,
    without_placard,
)
from sitegen.catalogue.list_files import reread, with_changes
from sitegen.catalogue.list_names import KnownNames, names_in
from sitegen.catalogue.list_notes import note_lines
from sitegen.catalogue.list_rows import NO_NAME, list_rows
from sitegen.catalogue.spreadsheet import SpreadsheetError, csv_text, read_table, xlsx_bytes
from sitegen.catalogue.starter import new_catalogue
from sitegen.terminal.list_text import (
    changes_text,
    columns_text,
    lines_text,
    lost_checks_text,
    not_in_list_text,
)
from sitegen.words import counted

MOST_PROBLEMS = 50
MOST_AIRFRAMES = 100
ASSUMED = "Check what was assumed"


def start_catalogue(
    folder: Path,
    name: str | None,
    sources: int | None,
    buses: int | None,
    list_file: Path | None,
    sheet: str | None,
    columns: Sequence[str],
) -> None:
    """Write a new catalogue; what is not given as an option is asked for."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise CommandError(f"{folder} exists and is not an empty folder: name a new one.")
    if list_file and buses:
        raise CommandError("--buses is for a catalogue without a list: the list names its buses.")
    if columns and not list_file:
        raise CommandError("--column is for a list: name it with --from.")
    rows: list[ListRow] = []
    known = KnownNames({}, grows=True)
    if list_file:
        rows = _read_list(list_file, sheet, columns, known)
        nameless = (row.note(NO_NAME) for row in rows if not row.has_name)
        problems = [*incomplete(rows), *nameless, *contradictions(rows), *duplicates(rows)]
        _stop_at(note_lines(problems), "nothing was written")
        groups = len(known.names.get("serials", {}))
        if groups > MOST_AIRFRAMES:
            raise CommandFailed(
                f"{list_file.name} names {groups} groups of serials, and at most {MOST_AIRFRAMES}"
                " can be airframes: is this column the serials of aircraft? Rename its heading."
            )
        if not rows:
            raise CommandFailed(f"{list_file.name} has no rows below the headings.")
    name = " ".join((name if name is not None else click.prompt("Name of the aircraft")).split())
    if not 0 < len(name) <= 200 or not name.isprintable():
        raise CommandError("--name: write a name of 1 to 200 characters.")
    sources = sources or click.prompt(
        "Number of sources, the last is a battery", type=click.IntRange(1, 20), default=2
    )
    if not list_file and not buses:
        buses = click.prompt("Number of buses", type=click.IntRange(1, 40), default=2)
    made = new_catalogue(name, sources, [f"Bus {n + 1}" for n in range(buses or 0)], rows, known)
    _stop_at(made.problems, "nothing was written")
    checked = reread(folder, made.files, new=True)
    _stop_at([str(f) for f in checked.errors], "nothing was written")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise not_written(folder, error) from None
    for file, text in made.files.items():
        write_file(folder / file, text)
    _echo(lines_text(made.left_out, "Left out"))
    _echo(lines_text(made.guessed, ASSUMED))
    _echo(lines_text(made.questions, "Questions"))
    click.echo(
        f"{counted(len(made.files), 'file')} in {folder}."
        f" Next: sitegen inspect {folder}, then sitegen publish {folder}."
    )


def import_into(
    path: Path, list_file: Path, sheet: str | None, columns: Sequence[str], write: bool
) -> None:
    """Show what a list changes in a catalogue; with `write`, change it."""
    reading = read_without_errors(path)
    assert reading.catalogue is not None
    known = names_in(reading.catalogue)
    rows = _read_list(list_file, sheet, columns, known)
    changes = compare(reading.catalogue, rows)
    new = [*changes.new_rows, *(row for row, _ in changes.new_supplies)]
    _echo(lines_text([*known.spellings(), *note_lines(without_placard(new))], ASSUMED))
    _echo(lines_text([*note_lines(changes.left_out)], "Left out"))
    problems = [*changes.problems, *contradictions(changes.new_rows), *overlaps(changes.new_rows)]
    _stop_at(note_lines(problems), "nothing was changed")
    if not changes.count:
        _echo(not_in_list_text(changes))
        click.echo("Nothing changes: the catalogue says all that the list says.")
        return
    click.echo(f"{counted(changes.count, 'change')}:")
    _echo(changes_text(changes))
    _echo(lost_checks_text(changes))
    _echo(not_in_list_text(changes))
    edited, by_hand = with_changes(reading, path, changes)
    _stop_at(by_hand, "nothing was changed")
    after = reread(path, edited)
    _stop_at([str(f) for f in after.errors], "the catalogue would be wrong; nothing was changed")
    assert after.catalogue is not None
    if (left := compare(after.catalogue, rows)).count or left.problems:
        click.echo("Once written, the list would still change the catalogue:", err=True)
        contradict = "rows of the list contradict each other; nothing was changed"
        _stop_at([*changes_text(left), *note_lines(left.problems)], contradict)
    if not write:
        click.echo("Nothing was written. Add --write to make these changes.")
        return
    for file, text in edited.items():
        write_file(path / file if path.is_dir() else path, text)
    click.echo(f"Written: {', '.join(sorted(edited))}.")


def export_list(path: Path | None, target: Path, replace: bool) -> None:
    """Write a catalogue's equipment and breakers as CSV or XLSX, by the file's ending."""
    ending = target.suffix.lower()
    if ending not in (".csv", ".xlsx"):
        raise CommandError(f"--to {target}: the file's name must end in .csv or .xlsx.")
    if target.exists() and not replace:
        raise CommandError(f"{target} exists: add --replace, or name another file.")
    catalogue = read_without_errors(path).catalogue
    assert catalogue is not None
    rows = list(sheet_rows(catalogue))
    # The mark at the start is how a spreadsheet knows that a CSV file is in UTF-8.
    text = "\ufeff" + csv_text(rows)
    write_file(target, text if ending == ".csv" else xlsx_bytes(rows, "Breakers"))
    click.echo(f"{counted(len(rows) - 1, 'row')} in {target}.")


def _read_list(
    path: Path, sheet: str | None, options: Sequence[str], known: KnownNames
) -> list[ListRow]:
    try:
        chosen = chosen_columns(options)
    except ListError as error:
        raise CommandError(str(error)) from None
    try:
        table = read_table(path, sheet)
        columns = match_columns(table, chosen)
    except SpreadsheetError as error:
        raise NotReadOrWritten(str(error)) from None
    except ListError as error:
        raise CommandFailed(f"{path.name}, {error}") from None
    except OSError as error:
        raise NotReadOrWritten(f"{path} could not be read: {error.strerror or error}.") from None
    found = list_rows(table, columns, known)
    _echo(columns_text(table, columns, len(found.rows)))
    _stop_at(note_lines(found.problems), "nothing was done")
    _echo(lines_text([*note_lines(found.left_out)], "Left out"))
    _echo(lines_text([*note_lines(found.guesses)], ASSUMED))
    return found.rows


def _stop_at(lines: Iterable[str], outcome: str) -> None:
    """End the command if there are problems."""
    if problems := list(lines):
        for problem in problems[:MOST_PROBLEMS]:
            click.echo(problem, err=True)
        raise CommandFailed(f"{counted(len(problems), 'problem')}; {outcome}.")


def _echo(lines: Iterable[str]) -> None:
    for line in lines:
        click.echo(line)
