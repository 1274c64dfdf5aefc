"""A breaker list: a row per supply of equipment, and per breaker or fuse in a feeder.

`rows_of` makes the list of a catalogue, `list_rows.py` reads one from a table. Both give rows with
the same texts for the same facts, so that two lists are compared by comparing texts. An empty cell
says nothing.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sitegen.catalogue.list_meanings import MEANINGS, RARE
from sitegen.catalogue.list_notes import RowNote
from sitegen.catalogue.model import (
    DATE_PATTERN,
    Catalogue,
    Device,
    Equipment,
    Indication,
    Line,
    Protector,
    Supply,
)
from sitegen.catalogue.protector_ids import protector_id
from sitegen.words import quoted

PROTECTION = ("breaker", "fuse", "fuse-link")

Path = tuple[str | int, ...]
"""Names of fields and positions in lists, from the catalogue's root to a value."""


@dataclass(frozen=True)
class ListRow:
    """One row: texts by meaning (`MEANINGS`), without those that are empty."""

    values: dict[str, str]
    sheet: str = ""
    number: int = 0
    """Where it is in the spreadsheet, as that numbers its rows."""
    record: Path = ()
    """Where the record is in the catalogue; empty when it is not in one."""
    supply: Path = ()
    protector: Path = ()
    """Where the breaker or fuse is: in the supply, or a device of its own."""

    @property
    def place(self) -> str:
        """Where it is in the spreadsheet."""
        return f"sheet {quoted(self.sheet)}, row {self.number}"

    @property
    def has_item(self) -> bool:
        """Whether it names equipment."""
        return bool({"id", "name"} & set(self.values))

    @property
    def has_name(self) -> bool:
        """Whether it names equipment, or what is on the placard."""
        return self.has_item or "placard" in self.values

    @property
    def item(self) -> str:
        """What it feeds: a list without equipment names only the breaker."""
        v = self.values
        return v.get("name") or v.get("placard") or v.get("id") or v.get("breaker-id", "")

    @property
    def breaker(self) -> str:
        """What the placard says; a list without placards names only what is fed."""
        return self.values.get("placard") or self.item

    def note(self, text: str) -> RowNote:
        """A sentence about this row."""
        return RowNote(self.sheet, self.number, text)


def number_text(value: float) -> str:
    """A number without needless decimals: `7.5`, `20`."""
    return str(int(value)) if float(value).is_integer() else repr(value)


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
                rows.append(ListRow(filled(values), "", 0, (section, i), path, protector))
    for k, device in enumerate(catalogue.devices):
        if device.kind in PROTECTION and k not in in_supplies:
            values = {"protection": device.kind, "breaker-id": device.id, "placard": device.name}
            values["serials"] = ", ".join(device.fitted_to or ())
            values |= _rating(device) | _trust(device)
            rows.append(ListRow(filled(values), "", 0, ("devices", k), (), ("devices", k)))
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


def filled(values: dict[str, str]) -> dict[str, str]:
    """The values without those that are empty, with single spaces."""
    return {meaning: " ".join(text.split()) for meaning, text in values.items() if text.strip()}


def sheet_rows(catalogue: Catalogue) -> Iterator[list[str]]:
    """The list of a catalogue as rows of cells, the headings first."""
    rows = rows_of(catalogue)
    said = {meaning for row in rows for meaning in row.values}
    shown = [meaning for meaning in MEANINGS if meaning not in RARE or meaning in said]
    yield [MEANINGS[meaning].heading for meaning in shown]
    for row in rows:
        yield [row.values.get(meaning, "") for meaning in shown]
