"""The files of a new catalogue, with comments that say what to change."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from sitegen.catalogue.breaker_list import ListRow
from sitegen.catalogue.list_changes import NO_BREAKER_IDS, NO_PANEL, NO_POSITION
from sitegen.catalogue.list_contradictions import by_item, overlaps, without_placard
from sitegen.catalogue.list_files import NO_ATA, new_records, records_text
from sitegen.catalogue.list_names import KnownNames, free_id, slug
from sitegen.catalogue.list_notes import RowNote, note_lines
from sitegen.catalogue.serials import disjoint, ranges_text
from sitegen.catalogue.yaml_edit import yaml_text
from sitegen.words import counted, join_words, shortened

MOST_SOURCES = 20
MOST_BUSES = 40
_POSITION = re.compile(r"([A-Z]{1,3})[ -]?0*([0-9]{1,2})")
_POWER_IDS = frozenset(
    f"{name}-{n}"
    for n in range(1, MOST_SOURCES + 1)
    for name in ("gen", "s-gen", "k-gen", "battery", "s-battery", "k-battery", "inverter")
)
"""Ids that no item may have, for the sources and their switching devices have them."""
_OTHERS = {"id": "other-serials", "name": "Other serials"}
_AC = re.compile(r"\bac\b", re.IGNORECASE)


@dataclass(frozen=True)
class NewCatalogue:
    """A new catalogue, not yet written."""

    files: dict[str, str]
    """Texts by file name."""
    guessed: tuple[str, ...]
    """What was assumed, for the author to check."""
    left_out: tuple[str, ...]
    """What the list says and a catalogue cannot hold."""
    questions: tuple[str, ...]
    """Names that may be one, mistyped."""
    problems: tuple[str, ...]
    """Why the list makes no catalogue."""


def new_catalogue(
    name: str,
    sources: int,
    buses: Sequence[str],
    rows: Sequence[ListRow] = (),
    known: KnownNames | None = None,
) -> NewCatalogue:
    """A catalogue to grow from.

    Parameters
    ----------
    name : the aircraft's.
    sources : how many there are: generators, and a battery as the last one.
    buses : their names; used without a list.
    rows, known : a breaker list, and the buses, panels and airframes that it names.
    """
    guessed: list[str] = []
    known = known or KnownNames({})
    named = dict(known.names.get("bus", {})) or {f"bus-{i + 1}": n for i, n in enumerate(buses)}
    if all(_AC.search(bus) for bus in named.values()):
        named = {"dc-bus": "DC bus", **named}
    dc = [i for i, bus in named.items() if not _AC.search(bus)]
    dc.sort(key=lambda i: "main" not in i)  # a main bus first: it feeds the others
    ac = [i for i in named if i not in dc]
    rows, panels, on_panels = _panels(rows, known)
    rows, airframes = _airframes(rows, known)
    problems = tuple(note_lines(overlaps(rows)))
    guessed += note_lines(without_placard(rows))
    guessed += _named_twice(rows)
    guessed += known.spellings()
    names = [n for i, n in known.names.get("serials", {}).items() if i not in known.serials]
    if names:
        guessed.append(
            f"{join_words(names, most=10)}: the name of an airframe, as Serials has it"
            " (aircraft.yaml)."
        )
    if airframes:
        guessed.append("Which serials are wired the same: the airframes (aircraft.yaml).")
    if ac:
        guessed.append(
            f"{', '.join(ac)}: AC by the name; fed from one inverter of 115 V (power.yaml)."
        )
    guessed.append("Which source feeds which bus, every rating and every switch (power.yaml).")
    if any("ata" not in row.values for row in rows):
        guessed.append(f"Equipment without an ATA chapter is in chapter {NO_ATA} (equipment.yaml).")
    left_out = tuple(note_lines(on_panels))
    equipment, devices = new_records(rows, {*named, *panels, *_POWER_IDS})
    if not rows:
        equipment = [
            {
                "id": f"{bus}-item",
                "name": f"First item on {named[bus]}",
                "ata": "24-50",
                "supplies": [
                    {
                        "bus": bus,
                        "breaker": {
                            "name": f"ITEM {n}",
                            "amps": 5.0,
                            "panel": "main-panel",
                            "at": f"A{n}",
                        },
                    }
                ],
                "amps": 1.0,
            }
            for n, bus in enumerate(named, 1)
        ]
        guessed.append("The equipment is an example: one item on each bus (equipment.yaml).")
        panels = {
            "main-panel": "{id: main-panel, name: Main panel, where: not described yet,"
            f" rows: [A], columns: {len(named)}}}"
        }
    files = {
        "aircraft.yaml": _aircraft(name, airframes, panels),
        "power.yaml": _power(sources, named, dc, ac),
        "conditions.yaml": _conditions(sources, dc[0]),
        "equipment.yaml": records_text(equipment, devices) if rows else _example(equipment),
    }
    return NewCatalogue(files, tuple(guessed), left_out, tuple(known.questions()), problems)


def _named_twice(rows: Sequence[ListRow]) -> Iterator[str]:
    """The items that several rows name: two lamps with one name are two items."""
    several = [
        f"{of_one[0].item} ({join_words([str(row.number) for row in of_one], most=4)})"
        for of_one in by_item(rows).values()
        if len(of_one) > 1
    ]
    if several:
        yield (
            f"{counted(len(several), 'name')} in several rows, {join_words(several, most=5)}: one"
            " item each, with a supply from each row, of which any one is enough (equipment.yaml)."
            " Two items need two names."
        )


def _panels(
    rows: Sequence[ListRow], known: KnownNames
) -> tuple[list[ListRow], dict[str, str], list[RowNote]]:
    """The rows with positions as they are on panels, the panels' records, what was left out."""
    places: dict[str, tuple[set[str], int]] = {}
    kept: list[ListRow] = []
    left_out: list[RowNote] = []
    for row in rows:
        v = dict(row.values)
        if v.pop("breaker-id", None):
            left_out.append(row.note(NO_BREAKER_IDS))
        at = _POSITION.fullmatch(v.get("at", "").upper())
        if "at" in v and (at is None or "panel" not in v):
            left_out.append(row.note(NO_PANEL if at else NO_POSITION))
            del v["at"]
        elif at:
            v["at"] = f"{at[1]}{at[2]}"
        if "panel" in v:
            letters, columns = places.setdefault(v["panel"], (set(), 1))
            if at and "at" in v:
                letters.add(at[1])
                places[v["panel"]] = (letters, max(columns, int(at[2])))
        kept.append(replace(row, values=v))
    records = {
        panel: yaml_text(
            {
                "id": panel,
                "name": known.names["panel"][panel],
                "where": "not described yet",
                "rows": sorted(letters, key=lambda r: (len(r), r)) or ["A"],
                "columns": columns,
            }
        )
        for panel, (letters, columns) in places.items()
    }
    return kept, records, left_out


def _airframes(
    rows: Sequence[ListRow], known: KnownNames
) -> tuple[Sequence[ListRow], list[dict[str, str]]]:
    """The rows with their airframes, and these: names, and blocks of serials that share none."""
    named = known.names.get("serials", {})
    blocks = disjoint(known.serials)
    airframes = [{"id": i, "name": n} for i, n in named.items() if i not in known.serials]
    of_text: dict[str, list[str]] = {i: [] for i in known.serials}
    taken = {airframe["id"] for airframe in airframes}
    for texts, serials in blocks.items():
        written = ranges_text(serials)
        words = f"{written[:-1]} and up" if written.endswith("-") else written
        block = free_id(slug(words), taken)
        taken.add(block)
        name = shortened(f"Serials {words}", 100)
        airframes.append({"id": block, "name": name, "serials": written})
        for i in texts:
            of_text[i].append(block)
    edges = sorted(r for serials in blocks.values() for r in serials)
    gap = any(after[0] > before[1] + 1 for before, after in pairwise(edges))

    def with_blocks(row: ListRow) -> ListRow:
        named_in = {m: row.values[m] for m in ("serials", "supply-serials") if m in row.values}
        blocks_in = {
            meaning: dict.fromkeys(a for i in text.split(", ") for a in of_text.get(i, [i]))
            for meaning, text in named_in.items()
        }
        return replace(row, values=row.values | {m: ", ".join(b) for m, b in blocks_in.items()})

    changed = [with_blocks(row) for row in rows]
    return changed, [*airframes, *([_OTHERS] if gap or len(airframes) == 1 else [])]


def _aircraft(name: str, airframes: Sequence[dict[str, str]], panels: dict[str, str]) -> str:
    lines = [
        "# What the catalogue describes. Raise the revision with each change that is published.",
        "format: 1",
        "aircraft:",
        f"  name: {yaml_text(name)}",
        '  revision: "1"',
        f"  revised: {datetime.date.today().isoformat()}",
        "  statement: Not checked yet against the wiring charts.",
    ]
    if airframes:
        lines += ["airframes:  # blocks of the fleet that are wired the same; fitted-to names them"]
        lines += [f"  - {yaml_text(airframe)}" for airframe in airframes]
    if panels:
        lines += ["panels:  # say where each one is, and how many rows and columns it has"]
        lines += [f"  - {panel}" for panel in panels.values()]
    return "\n".join(lines) + "\n"


def _power(sources: int, named: dict[str, str], dc: Sequence[str], ac: Sequence[str]) -> str:
    generators = max(sources - 1, 1)
    battery = sources > 1
    lines = ["# Sources and buses, and how they are connected. Check every line.", "sources:"]
    switches = ["switches:"]
    devices = ["devices:"]
    feeders = ["feeders:  # a conductor between two nodes, through devices in series"]

    for n in range(1, generators + 1):
        lines.append(
            f"  - {{id: gen-{n}, name: Generator {n}, kind: generator, volts: 28, amps: 200}}"
        )
        switches.append(
            f'  - {{id: s-gen-{n}, name: Generator {n} switch, positions: ["off", "on"]}}'
        )
        devices.append(
            f"  - {{id: k-gen-{n}, name: Generator {n} contactor, kind: contactor,"
            f' closes-when: {{switches: {{s-gen-{n}: "on"}}, live: [gen-{n}]}}}}'
        )
        feeders.append(f"  - {{from: gen-{n}, to: {dc[(n - 1) % len(dc)]}, through: [k-gen-{n}]}}")
    if battery:
        lines.append("  - {id: battery-1, name: Battery, kind: battery, volts: 24, amp-hours: 20}")
        switches.append('  - {id: s-battery-1, name: Battery switch, positions: ["off", "on"]}')
        devices.append(
            "  - {id: k-battery-1, name: Battery relay, kind: relay,"
            ' closes-when: {switches: {s-battery-1: "on"}, live: [battery-1]}}'
        )
        devices.append("  - {id: fl-battery-1, name: Battery link, kind: fuse-link, amps: 200}")
        feeders.append(
            f"  - {{from: battery-1, to: {dc[0]}, through: [fl-battery-1, k-battery-1]}}"
        )
    for bus in dc[1:]:
        link = f"fl-{bus}"[:60]
        devices.append(
            f"  - {{id: {link}, name: {yaml_text(f'{named[bus]} link')}, kind: fuse-link,"
            " amps: 200}"
        )
        # A hot bus is before the battery's relay, by its name.
        source = "battery-1" if battery and re.search(r"\bhot\b", bus) else dc[0]
        feeders.append(f"  - {{from: {source}, to: {bus}, through: [{link}]}}")
    if ac:
        lines.append(
            "  - {id: inverter-1, name: Inverter, kind: converter, volts: 115, current: ac,"
            f" efficiency: 0.8, fed-from: {{bus: {dc[0]}, through: [cb-inverter-1]}}}}"
        )
        devices.append("  - {id: cb-inverter-1, name: INVERTER, kind: breaker, amps: 50}")
        feeders += [f"  - {{from: inverter-1, to: {bus}}}" for bus in ac]
    lines += [
        "buses:",
        *(
            f"  - {yaml_text({'id': i, 'name': n, **({'current': 'ac'} if i in ac else {})})}"
            for i, n in named.items()
        ),
    ]
    return "\n".join([*lines, *switches, *devices, *feeders]) + "\n"


def _conditions(sources: int, main: str) -> str:
    generators = [f"gen-{n}" for n in range(1, max(sources - 1, 1) + 1)]
    on = {f"s-{g}": "on" for g in generators}
    battery = sources > 1
    every = [*generators, *(["battery-1"] if battery else [])]
    switches = {**on, **({"s-battery-1": "on"} if battery else {})}
    lines = [
        "# States of the aircraft before anything fails: the sources on line, the switches.",
        "conditions:",
        f"  - {{id: flight, name: Flight, sources: {yaml_text(every)},"
        f" switches: {yaml_text(switches)}}}",
    ]
    if battery:
        lines.append(
            "  - {id: battery-only, name: Battery only, sources: [battery-1],"
            ' switches: {s-battery-1: "on"}}'
        )
    lines += [
        "# Failures with a name, and what the crew does about them under `then`.",
        "failures:",
        "  - {id: first-bus-shorted, name: First bus shorted,"
        f" failed: {yaml_text([f'{main}:shorted'])}}}",
    ]
    return "\n".join(lines) + "\n"


def _example(equipment: Sequence[dict[str, object]]) -> str:
    return (
        "# What uses power, and the breaker that feeds it. `sitegen import` adds a whole list.\n"
        "# Add what there is: panel, at, wire of a supply; reference, on-loss of the item.\n"
        "equipment:\n" + "".join(f"  - {yaml_text(record)}\n" for record in equipment)
    )
