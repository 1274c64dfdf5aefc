"""A breaker list: a row per supply of equipment, and per breaker or fuse in a feeder.

`rows_of` makes the list of a catalogue, `list_rows` reads one from a table. Both give rows with the
same texts for the same facts, so that two lists are compared by comparing texts. An empty cell
says nothing.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from sitegen.catalogue.characters import REFUSED
from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.list_columns import MEANINGS, RARE, Columns
from sitegen.catalogue.model import (
    ATA_PATTERN,
    DATE_PATTERN,
    LONGEST_ID,
    Catalogue,
    Device,
    Equipment,
    Indication,
    Line,
    Protector,
    Supply,
    gauge_number,
)
from sitegen.catalogue.protector_ids import protector_id
from sitegen.catalogue.spreadsheet import Table
from sitegen.words import quoted

LONGEST_TEXT = 200
MOST_AMPS = 1_000_000
PROTECTION = ("breaker", "fuse", "fuse-link")

Path = tuple[str | int, ...]
"""Names of fields and positions in lists, from the catalogue's root to a value."""


@dataclass(frozen=True)
class ListRow:
    """One row: texts by meaning (`MEANINGS`), without those that are empty."""

    values: dict[str, str]
    place: str = ""
    """Where it is in the spreadsheet."""
    record: Path = ()
    """Where the record is in the catalogue; empty when it is not in one."""
    supply: Path = ()
    protector: Path = ()
    """Where the breaker or fuse is: in the supply, or a device of its own."""


def slug(text: str) -> str:
    """An id made from a name.

    >>> slug("Landing light, L/H")
    'landing-light-l-h'
    """
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:LONGEST_ID].strip("-")


def plain_name(text: str) -> str:
    """A name as it is compared: lowercase, single spaces."""
    return " ".join(text.lower().split())


def number_text(value: float) -> str:
    """A number without needless decimals: `7.5`, `20`."""
    return str(int(value)) if float(value).is_integer() else repr(value)


@dataclass
class KnownNames:
    """The buses, panels and airframes that a list may name: ids by id and by name."""

    ids: dict[str, dict[str, str]]
    """By meaning (`bus`, `panel`, `serials`): the id by the name as it is compared."""
    names: dict[str, dict[str, str]] = field(default_factory=dict)
    """By meaning: the name as first written, by id, where a new catalogue is made."""
    grows: bool = False
    """Whether an unknown name becomes a new record."""

    def id_of(self, meaning: str, text: str) -> str | None:
        """The id that a name means, or None."""
        known = self.ids.setdefault(meaning, {})
        found = known.get(plain_name(text))
        if found is None and self.grows and slug(text):
            made = free_id(slug(text), {i for ids in self.ids.values() for i in ids.values()})
            known[plain_name(text)] = found = made
            self.names.setdefault(meaning, {})[made] = text
        return found


def free_id(wanted: str, taken: set[str]) -> str:
    """An id that is not taken: the wanted one, or one with a number after it."""
    made, number = wanted, 1
    while made in taken:
        number += 1
        made = f"{wanted[: LONGEST_ID - 6]}-{number}"
    return made


def names_in(catalogue: Catalogue) -> KnownNames:
    """What a list may name in a catalogue."""
    known = KnownNames(
        {
            meaning: {
                plain_name(text): record.id
                for record in records
                for text in (record.name, record.id)
            }
            for meaning, records in (
                ("bus", catalogue.buses),
                ("panel", catalogue.panels),
                ("serials", catalogue.airframes),
            )
        }
    )
    for name, airframe in list(known.ids["serials"].items()):
        # A column headed Serials has `1-24` for what is named `Serials 1-24`.
        known.ids["serials"].setdefault(name.removeprefix("serials "), airframe)
    return known


def rows_of(catalogue: Catalogue) -> list[ListRow]:
    """The list of a catalogue, in the order of its records."""
    devices: dict[str, list[tuple[int, Device]]] = {}
    for k, device in enumerate(catalogue.devices):
        devices.setdefault(device.id, []).append((k, device))
    rows: list[ListRow] = []
    in_supplies: set[int] = set()
    sections: tuple[tuple[str, Sequence[Equipment | Indication]], ...] = (
        ("equipment", catalogue.equipment),
        ("indications", catalogue.indications),
    )
    for section, records in sections:
        for i, record in enumerate(records):
            for j, supply in enumerate(record.supplies):
                path: Path = (section, i, "supplies", j)
                values, protector, shared = _protection(supply, record, j, path, devices)
                in_supplies |= shared
                values |= _record_values(record)
                values["bus"] = supply.bus
                values |= _trust(supply, "supply-")
                values["supply-serials"] = ", ".join(supply.fitted_to or ())
                if supply.wire is not None:
                    values["wire"] = str(
                        supply.wire if supply.wire >= 0 else "0" * (1 - supply.wire)
                    )
                rows.append(ListRow(_filled(values), "", (section, i), path, protector))
    for k, device in enumerate(catalogue.devices):
        if device.kind in PROTECTION and k not in in_supplies:
            values = {"protection": device.kind, "breaker-id": device.id, "placard": device.name}
            values["serials"] = ", ".join(device.fitted_to or ())
            values |= _rating(device) | _trust(device)
            rows.append(ListRow(_filled(values), "", ("devices", k), (), ("devices", k)))
    return rows


def _record_values(record: Equipment | Indication) -> dict[str, str]:
    values = {"id": record.id, "name": record.name, "serials": ", ".join(record.fitted_to or ())}
    if isinstance(record, Equipment):
        drawn = record.amps
        if isinstance(drawn, dict):
            values["drawn"] = "; ".join(f"{c} {number_text(a)}" for c, a in drawn.items())
        elif drawn is not None:
            values["drawn"] = number_text(drawn)
        values["ata"] = record.ata
    return values | _trust(record)


def _trust(line: Line, of: str = "") -> dict[str, str]:
    """Where a record, a supply or a breaker is from, and who has checked it."""
    checked = line.checked
    parts = [checked.by, checked.on.isoformat(), checked.against] if checked else []
    written = ", ".join(filter(None, parts))
    return {f"{of}reference": line.reference or "", f"{of}checked": written}


def check_of(text: str) -> dict[str, Any] | None:
    """`checked` as a record, from the text of a cell; None where it is none.

    >>> check_of("M. Kerr, 2026-11-20, Chart 1, revision 2")["against"]
    'Chart 1, revision 2'
    """
    match = re.fullmatch(rf"(.*?\S)\s*, ?{DATE_PATTERN}(?:, ?(.*\S))?", text)
    try:
        on = datetime.date(*map(int, match.groups()[1:4])) if match else None
    except ValueError:
        on = None
    if match is None or on is None:
        return None
    against = {"against": match[5]} if match[5] else {}
    return {"by": match[1], "on": on, **against}


def _protection(
    supply: Supply,
    record: Equipment | Indication,
    j: int,
    path: Path,
    devices: dict[str, list[tuple[int, Device]]],
) -> tuple[dict[str, str], Path, set[int]]:
    kind = "fuse" if supply.fuse is not None else "breaker"
    written = supply.fuse if supply.fuse is not None else supply.breaker
    if isinstance(written, Protector):
        made = written.id or protector_id(record.id, len(record.supplies), j, kind)
        values = {"protection": kind, "breaker-id": made, "placard": written.name}
        values |= _rating(written) | _trust(written, "breaker-")
        return values, (*path, kind), set()
    if written is None:
        return {}, (), set()
    values = {"protection": kind, "breaker-id": written}
    named = devices.get(written, [])
    if len(named) == 1:  # with several, which one it is depends on the airframe
        k, device = named[0]
        values |= {"placard": device.name} | _rating(device) | _trust(device, "breaker-")
        return values, ("devices", k), {k}
    return values, (), set()


def _rating(protector: Protector | Device) -> dict[str, str]:
    amps = number_text(protector.amps) if protector.amps is not None else ""
    return {"rating": amps, "panel": protector.panel or "", "at": protector.at or ""}


def _filled(values: dict[str, str]) -> dict[str, str]:
    return {meaning: " ".join(text.split()) for meaning, text in values.items() if text.strip()}


def sheet_rows(catalogue: Catalogue) -> Iterator[list[str]]:
    """The list of a catalogue as rows of cells, the headings first."""
    rows = rows_of(catalogue)
    said = {meaning for row in rows for meaning in row.values}
    shown = [meaning for meaning in MEANINGS if meaning not in RARE or meaning in said]
    yield [MEANINGS[meaning].heading for meaning in shown]
    for row in rows:
        yield [row.values.get(meaning, "") for meaning in shown]


def list_rows(
    table: Table, columns: Columns, known: KnownNames
) -> tuple[list[ListRow], list[str], list[str]]:
    """Read the rows below the headings.

    Returns
    -------
    The rows; what is wrong, each with sheet, row, column and the likely fix; and what was guessed.
    """
    rows: list[ListRow] = []
    problems: list[str] = []
    guesses: list[str] = []
    odd = {(r, c): why for r, c, why in table.odd}
    for r, cells in enumerate(table.rows[columns.heading_row + 1 :], columns.heading_row + 1):
        values: dict[str, str] = {}
        for meaning, c in columns.of.items():
            text = " ".join(cells[c].split()) if c < len(cells) else ""
            if not text:
                continue
            where = f"{table.place(r, c)}: "
            if (r, c) in odd:
                problems.append(f"{where}{quoted(text)} {odd[r, c]}.")
                continue
            try:
                values[meaning] = _value(meaning, text, known)
            except ValueError as error:
                problems.append(f"{where}{error}")
        if not values:
            continue
        place = table.place(r)
        if "name" not in values and "id" not in values and "breaker-id" not in values:
            if "placard" in values:
                values["name"] = values["placard"]
                if "name" in columns.of:
                    guesses.append(f"{place}: no equipment; it is named as the breaker.")
            elif not any(p.startswith(f"{place},") for p in problems):
                problems.append(
                    f"{place}: no equipment and no breaker. Fill one in, or delete the row."
                )
        rows.append(ListRow(_filled(values), place))
    return rows, problems, guesses


def _value(meaning: str, text: str, known: KnownNames) -> str:
    """A cell's text as `rows_of` writes it; ValueError says what is wrong."""
    if meaning in ("bus", "panel"):
        found = known.id_of(meaning, text)
        if found is None:
            hint = did_you_mean(text, [*known.ids[meaning], *known.ids[meaning].values()])
            raise ValueError(
                f"the {meaning} {quoted(text)} is not in the catalogue."
                f" {hint or f'Add the {meaning} to the catalogue first.'}"
            )
        return found
    if meaning in ("serials", "supply-serials"):
        return _serials(text, known)
    if meaning == "rating":
        return _amps(text)
    if meaning == "drawn":
        parts = re.findall(r"([a-z0-9-]*[a-z][a-z0-9-]*) ([0-9.]+)(?:; ?|$)", text)
        if parts and "; ".join(f"{c} {a}" for c, a in parts) == text:
            return "; ".join(f"{c} {_amps(a, 0)}" for c, a in parts)
        return _amps(text, 0)
    if meaning == "ata":
        digits = re.fullmatch(r"(?:ATA[ -]?)?(\d\d)(?:[-. ]?(\d\d))?(?:[-. ]?(\d\d))?", text, re.I)
        made = "-".join(filter(None, digits.groups())) if digits else ""
        if not re.fullmatch(ATA_PATTERN, made):
            # A spreadsheet shows 33.40 and has kept the number 33.4.
            hint = " Make the cell text." if re.fullmatch(r"\d\d\.\d", text) else ""
            raise ValueError(
                f"{quoted(text)} is not an ATA chapter. Write 23, 23-12 or 23-12-01.{hint}"
            )
        return made
    if meaning == "wire":
        digits = re.fullmatch(r"(?:AWG|AN)?[ #-]*(0{1,4}|[1-9]\d?)(?:[ -]*(?:AWG|GA))?", text, re.I)
        try:
            gauge_number(digits[1] if digits and digits[1] in ("00", "000", "0000") else None)
            if digits is None:
                raise ValueError
            if not digits[1].startswith("00"):
                gauge_number(int(digits[1]))
        except ValueError:
            raise ValueError(f"{quoted(text)} is not a wire gauge. Write 20, or 00.") from None
        return digits[1]
    if meaning == "protection":
        made = slug(text).replace("circuit-breaker", "breaker").replace("cb", "breaker")
        if made not in PROTECTION:
            raise ValueError(f"{quoted(text)} is not known. Write breaker or fuse.")
        return made
    if meaning.endswith("checked"):
        text = _check_text(text)
    elif len(text) > LONGEST_TEXT:
        raise ValueError(f"the text is longer than {LONGEST_TEXT} characters. Shorten it.")
    if REFUSED.search(text):
        raise ValueError(f"{quoted(text)} holds a character that cannot be printed. Delete it.")
    if meaning == "id" and slug(text) != text:
        raise ValueError(
            f"{quoted(text)} is not a valid id. Write {quoted(slug(text) or 'com-1')}."
        )
    return text


def _check_text(text: str) -> str:
    made = check_of(text)
    if made is None:
        raise ValueError(
            f"{quoted(text)} does not say who checked, when and against what."
            " Write M. Kerr, 2026-11-20, Chart 24-31-01."
        )
    parts = [made["by"], made["on"].isoformat(), made.get("against", "")]
    if max(map(len, parts)) > LONGEST_TEXT:
        raise ValueError(f"a part is longer than {LONGEST_TEXT} characters. Shorten it.")
    return ", ".join(filter(None, parts))


def _serials(text: str, known: KnownNames) -> str:
    airframes = known.ids.setdefault("serials", {})
    if plain_name(text) in ("all", "all serials") and "all serials" not in airframes:
        return ""
    whole = known.id_of("serials", text) if known.grows else airframes.get(plain_name(text))
    if whole:
        return whole
    ids = []
    for part in re.split(r"\s*[,;]\s*", text):
        found = airframes.get(plain_name(part))
        if found is None:
            hint = did_you_mean(part, airframes) or "Write airframes by id or name."
            raise ValueError(f"{quoted(part)} is not an airframe of the catalogue. {hint}")
        ids.append(found)
    return ", ".join(ids)


def _amps(text: str, least: float | None = None) -> str:
    """A figure in amps; a comma before one or two digits is a decimal comma.

    >>> _amps("7,5 A"), _amps("7 1/2"), _amps("20.0")
    ('7.5', '7.5', '20')
    """
    bare = re.sub(r"\s*(?:a|amps?|amperes?)\.?$", "", text, flags=re.IGNORECASE)
    bare = re.sub(r"\s*(?:½|(?<=\d) 1/2)$", ".5", bare)
    bare = re.sub(r"^(\d+),(\d{1,2})$", r"\1.\2", bare)
    if not re.fullmatch(r"\d{1,7}(\.\d{1,9})?", bare):
        raise ValueError(
            f"{quoted(text)} is not a figure in amps. Write only the figure, as in 7.5."
        )
    value = float(bare)
    if value > MOST_AMPS or (value <= 0 if least is None else value < least):
        raise ValueError(f"{quoted(text)}: amps are above 0 and at most {MOST_AMPS:,}.")
    return number_text(value)
