"""A catalogue's files with the changes of a list, and new records as YAML."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

from sitegen.catalogue.breaker_list import ListRow, check_of
from sitegen.catalogue.files import gather
from sitegen.catalogue.list_changes import (
    OF_PROTECTOR,
    OF_RECORD,
    OF_SUPPLY,
    ListChanges,
    owner_path,
)
from sitegen.catalogue.list_contradictions import by_item
from sitegen.catalogue.list_names import free_id, slug
from sitegen.catalogue.model import gauge_number
from sitegen.catalogue.read import ReadResult, read
from sitegen.catalogue.yaml_edit import CannotEdit, YamlText, yaml_text
from sitegen.words import quoted

NEW_FILE = "equipment-from-list"
NO_ATA = "00"
"""The chapter of an item whose list does not say it; no chapter of a system has this number."""


def new_records(
    rows: Sequence[ListRow], taken: set[str], known_shared: Mapping[int, str] | None = None
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Equipment, and breakers that several items share, as records for YAML.

    Rows of one item make one record. Rows with one breaker and several items share it;
    `known_shared` has, by the number of a row, such a breaker that is in the catalogue already.
    """
    known_shared = known_shared or {}
    items = by_item(rows)
    breakers: dict[tuple[str, ...], set[tuple[str, str]]] = {}
    for item, of_one in items.items():
        for row in of_one:
            breakers.setdefault(_breaker_key(row), set()).add(item)
    taken = set(taken)
    devices: list[dict[str, Any]] = []
    shared: dict[tuple[str, ...], str] = {}
    for row in rows:
        key = _breaker_key(row)
        if row.number in known_shared:
            shared[key] = known_shared[row.number]
        elif len(breakers[key]) > 1 and key not in shared:
            shared[key] = free_id(slug(f"cb-{row.breaker}") or "cb", taken)
            taken.add(shared[key])
            devices.append({"id": shared[key], **protector_record(row), "kind": _kind(row)})
    equipment = []
    ids: dict[str, str] = {}
    for (item_text, _), supplies in items.items():
        first: dict[str, str] = {}
        for row in supplies:
            first = {**row.values, **first}
        if item_text not in ids:
            ids[item_text] = first.get("id") or free_id(slug(supplies[0].item) or "item", taken)
            taken.add(ids[item_text])
        record: dict[str, Any] = {
            "id": ids[item_text],
            "name": first.get("name") or first.get("placard") or ids[item_text],
            "ata": first.get("ata", NO_ATA),
        }
        if "serials" in first:
            record["fitted-to"] = first["serials"].split(", ")
        record["supplies"] = [supply_record(row, shared.get(_breaker_key(row))) for row in supplies]
        if "drawn" in first:
            record["amps"] = plain_value("drawn", first["drawn"])
        record |= {k: plain_value(k, first[k]) for k in ("reference", "checked") if k in first}
        equipment.append(record)
    return equipment, devices


def _kind(row: ListRow) -> str:
    return "fuse" if row.values.get("protection") == "fuse" else "breaker"


def _breaker_key(row: ListRow) -> tuple[str, ...]:
    v = row.values
    place = (v["panel"], v["at"]) if "panel" in v and "at" in v else (v.get("bus", ""),)
    return (*place, row.breaker, v.get("rating", ""), v.get("serials", ""))


def protector_record(row: ListRow) -> dict[str, Any]:
    """A row's breaker or fuse as a record, without its kind and id."""
    v = row.values
    record: dict[str, Any] = {"name": row.breaker, "amps": float(v["rating"])}
    for meaning in ("panel", "at", "breaker-reference", "breaker-checked"):
        if meaning in v:
            record[OF_PROTECTOR[meaning]] = plain_value(meaning, v[meaning])
    return record


def supply_record(row: ListRow, shared: str | None = None) -> dict[str, Any]:
    """A row's supply as a record; its breaker by id if several items share it."""
    v = row.values
    record: dict[str, Any] = {"bus": v["bus"], _kind(row): shared or protector_record(row)}
    for meaning, name in OF_SUPPLY.items():
        if meaning in v and meaning != "bus":
            record[name] = plain_value(meaning, v[meaning])
    return record


def plain_value(meaning: str, text: str) -> Any:
    """A list's text as the value that the catalogue holds."""
    if meaning == "rating" or (meaning == "drawn" and " " not in text):
        return float(text)
    if meaning == "drawn":
        return {c: float(a) for c, a in (part.split(" ") for part in text.split("; "))}
    if meaning == "wire":
        return text if text.startswith("00") else int(gauge_number(int(text)))
    if meaning in ("serials", "supply-serials"):
        return text.split(", ")
    if meaning.endswith("checked"):
        return check_of(text)
    return text


def with_changes(
    reading: ReadResult, root: FilePath, changes: ListChanges
) -> tuple[dict[str, str], list[str]]:
    """The files of a catalogue with the changes of a list.

    Parameters
    ----------
    reading : the catalogue as it is.
    root : its folder, or its one file.
    changes : of `compare`, without problems.

    Returns
    -------
    The new texts by file name relative to the catalogue, only of files that change or are new; and
    what has to be changed by hand. Nothing is written.
    """
    catalogue = reading.catalogue
    assert catalogue is not None
    folder = root.is_dir()
    texts: dict[str, YamlText] = {}
    by_hand: list[str] = []

    def text_at(file: str) -> YamlText:
        if file not in texts:
            path = root / file if folder else root
            texts[file] = YamlText(path.read_bytes().decode("utf-8-sig"))
        return texts[file]

    for change in changes.changes:
        old, value = change.old_row, plain_value(change.meaning, change.new)
        path, name = owner_path(old, change.meaning), _field(change.meaning)
        if change.meaning in OF_PROTECTOR and not old.protector:
            by_hand.append(
                f"{change.row.place}: write the breaker by hand at {reading.locations.at(*path)}:"
                " this supply has none."
            )
            continue
        try:
            if change.old:
                place = reading.locations.at(*path, name)
                text_at(place.file).replace(place, value)
            else:
                place = reading.locations.at(*path)
                text_at(place.file).add_field(place, name, value)
        except CannotEdit:
            by_hand.append(
                f"{change.row.place}: change {quoted(name)} to {quoted(change.new)} by hand at"
                f" {reading.locations.at(*path)}."
            )
    for row, old in changes.new_supplies:
        place = reading.locations.at(*old.record, "supplies")
        try:
            if not ({"bus", "rating"} <= set(row.values) or row.number in changes.shared):
                raise CannotEdit
            text_at(place.file).append(place, supply_record(row, changes.shared.get(row.number)))
        except CannotEdit:
            by_hand.append(f"{row.place}: add this supply by hand at {place}.")
    for lost in changes.lost_checks:
        path = owner_path(lost.old_row, lost.meaning)
        place = reading.locations.at(*path)
        try:
            text_at(place.file).remove_field(place, "checked")
        except CannotEdit:
            by_hand.append(f"Delete `checked` by hand at {place}: the line changes.")
    for file, text in texts.items():
        try:
            text.pass_on_removed()
        except CannotEdit:
            by_hand.append(
                f"{file}: delete `checked` by hand where other lines repeat it with `*`."
            )
    edited = {name: text.edited() for name, text in texts.items()}
    if changes.new_rows:
        taken = {
            r.id
            for records in (
                catalogue.equipment,
                catalogue.indications,
                catalogue.devices,
                catalogue.buses,
                catalogue.sources,
                catalogue.switches,
                catalogue.functions,
                catalogue.panels,
            )
            for r in records
        }
        equipment, devices = new_records(changes.new_rows, taken, changes.shared)
        if folder:
            number, new_file = 1, f"{NEW_FILE}.yaml"
            while (root / new_file).exists():
                number += 1
                new_file = f"{NEW_FILE}-{number}.yaml"
            edited[new_file] = records_text(equipment, devices)
        else:
            only_file = text_at(root.name)
            for section, records in (("equipment", equipment), ("devices", devices)):
                for record in records:
                    try:
                        only_file.append(reading.locations.at(section), record)
                    except CannotEdit:
                        by_hand.append(f"Add to {section} by hand: {yaml_text(record)}")
            edited[root.name] = only_file.edited()
    return edited, by_hand


def _field(meaning: str) -> str:
    return {**OF_PROTECTOR, **OF_SUPPLY, **OF_RECORD}[meaning]


def records_text(equipment: Sequence[dict[str, Any]], devices: Sequence[dict[str, Any]]) -> str:
    """Records as the text of a YAML file."""
    lines = ["# From a breaker list; each line can be changed by hand."]
    if devices:
        lines += ["devices:  # breakers that several items share"]
        lines += [f"  - {yaml_text(device)}" for device in devices]
    if equipment:
        lines += ["equipment:"]
    for record in equipment:
        fields = list(record.items())
        lines += [f"  - {fields[0][0]}: {yaml_text(fields[0][1])}"]
        for name, value in fields[1:]:
            if name == "supplies":
                lines += ["    supplies:", *(f"      - {yaml_text(s)}" for s in value)]
            else:
                lines += [f"    {name}: {yaml_text(value)}"]
    return "\n".join(lines) + "\n"


def reread(root: FilePath, edited: dict[str, str], new: bool = False) -> ReadResult:
    """Read the catalogue as it would be with the edited files, or a new one, from a copy."""
    with tempfile.TemporaryDirectory() as place:
        if not root.is_dir() and not new:
            copy = FilePath(place) / root.name
            copy.write_text(edited.get(root.name, root.read_text("utf-8-sig")), "utf-8")
            return read(copy)
        copy = FilePath(place) / "catalogue"
        gathered = gather(root, True)
        files = () if new else (*gathered.yaml, *gathered.notes)
        texts = {f.name: f.text for f in files} | edited
        for name, text in texts.items():
            (copy / name).parent.mkdir(parents=True, exist_ok=True)
            (copy / name).write_text(text, "utf-8", newline="")
        return read(copy)
