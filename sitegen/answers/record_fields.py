"""What a record of the catalogue says, field by field: kinds of change, comparison, words.

A field is named as in the YAML, with dots: `amps`, `breaker.amps`, `then.switches`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal, get_args

from sitegen.catalogue.panel_position import panel_and_position
from sitegen.words import LINKED, in_words

ChangeKind = Literal[
    "added",
    "removed",
    "rewired",
    "re-rated",
    "moved",
    "redefined",
    "renamed",
    "reworded",
    "checked",
]
"""What a change is to the trade, the most important first."""

CHANGE_KINDS: tuple[ChangeKind, ...] = get_args(ChangeKind)

WIRING: frozenset[ChangeKind] = frozenset({"added", "removed", "rewired", "re-rated", "redefined"})
"""The kinds from which another answer may follow."""

_KINDS: dict[str, ChangeKind] = {
    **dict.fromkeys(("id", "name"), "renamed"),
    **dict.fromkeys(("reference", "checked"), "checked"),
    **dict.fromkeys(
        ("note", "on-loss", "if-it-comes-on", "hazard", "statement", "title", "colour"), "reworded"
    ),
    **dict.fromkeys(("notes-in", "ata", "serials", "also-called"), "reworded"),
}
_OF_WIRING: dict[str, ChangeKind] = {
    **dict.fromkeys(("panel", "at", "where", "ground-only", "rows", "columns"), "moved"),
    **dict.fromkeys(("amps", "peak-amps", "amps-5s", "amps-5min", "opens-at"), "re-rated"),
    **dict.fromkeys(("volts", "volts-range", "drop-volts", "min-volts", "load-volts"), "re-rated"),
    **dict.fromkeys(("amp-hours", "usable", "battery-time", "charge-amps"), "re-rated"),
    **dict.fromkeys(("internal-ohms", "efficiency", "load", "wire", "length"), "re-rated"),
}
_DEFINITIONS = {
    "conditions",
    "failures",
    "functions",
    "handout",
    "load-columns",
    "airframes",
    "battery-time",
}
"""Sections that say what is asked of the wiring, not how it is."""


def _listed(words: str) -> frozenset[str]:
    return frozenset(words.split())


_SET_LIKE = _listed(
    "sources held-closed pulled shed reset live dead closed open requires provided-by independent"
    " any all closes-when lit-when failed conditions leave-out also-called"
)
"""Fields whose order says nothing."""

_REFERENCES = _listed(
    "bus from to through sources held-closed pulled shed reset live dead closed open failed"
    " requires provided-by independent any all panel loads conditions landing-column breaker fuse"
    " notes"
)
"""Fields that name other records by their ids."""

_KEYED = _listed("switches volts-above volts-below notes-in amps peak-amps")
"""Tables whose keys are ids."""

_UNITS = {
    **dict.fromkeys(("amps", "peak-amps", "amps-5s", "amps-5min", "charge-amps"), " A"),
    **dict.fromkeys(
        ("volts", "volts-range", "drop-volts", "min-volts", "load-volts", "volts-above"), " V"
    ),
    "volts-below": " V",
    "amp-hours": " Ah",
    "internal-ohms": " ohm",
}
_LABELS = {
    "at": "position",
    "on-loss": "text for its loss",
    "if-it-comes-on": "text if it comes on",
    "peak-amps": "short-time amps",
    "min-volts": "least volts",
    "then.note": "note for the crew",
    "then.switches": "the crew sets",
    "then.shed": "the crew turns off",
    "then.pulled": "the crew pulls",
    "then.reset": "the crew resets",
    "notes-in": "notes for the crew",
    "amps-5s": "amps for 5 seconds",
    "amps-5min": "amps for 5 minutes",
    "ata": "ATA chapter",
    "need": "how many are needed",
    "independent": "independent pairs",
}
"""What fields are called where their name in the YAML does not say it."""

Names = Mapping[str, str]


def kind_of(section: str, field: str) -> ChangeKind:
    """What a change of a field is.

    >>> kind_of("equipment", "breaker.amps"), kind_of("indications", "at")
    ('re-rated', 'rewired')
    >>> kind_of("conditions", "switches"), kind_of("failures", "then.note")
    ('redefined', 'reworded')
    """
    last = field.rpartition(".")[2]
    if last in _KINDS:
        return _KINDS[last]
    if section in _DEFINITIONS:
        return "redefined"
    if section == "indications" and field == "at":
        return "rewired"
    return _OF_WIRING.get(last, "rewired")


def label(field: str) -> str:
    """A field in words.

    >>> label("breaker.at"), label("closes-when"), label("then.shed")
    ('breaker position', 'closes when', 'the crew turns off')
    """
    if field in _LABELS:
        return _LABELS[field]
    owner, dot, last = field.rpartition(".")
    words = _LABELS.get(last, last).replace("-", " ")
    return f"{owner} {words}" if dot and owner != "then" else words


def comparable(field: str, value: Any, ids: Names) -> Any:
    """A value in the form in which two are the same if they say the same.

    Parameters
    ----------
    field : its name, without what it is in.
    value : as the catalogue has it.
    ids : new ids by old ones, for the values of the older catalogue.
    """
    if isinstance(value, Mapping):
        named = field in _KEYED
        return {
            (_new_id(key, ids) if named else key): comparable(
                field if named and field != "switches" else key, each, ids
            )
            for key, each in value.items()
        }
    if isinstance(value, list):
        each = [comparable(field, one, ids) for one in value]
        return sorted(each, key=repr) if field in _SET_LIKE else each
    if not isinstance(value, str):
        return value
    if field in _REFERENCES:
        return _new_id(value, ids)
    if _KINDS.get(field) == "reworded":
        return " ".join(LINKED.sub(lambda m: f"]({_new_id(m[1], ids)})", value).split())
    return value


def unequal_entries(field: str, was: Any, now: Any, ids: Names) -> tuple[Any, Any]:
    """Two values; of two tables with ids for keys, only the entries that are not the same."""
    if field not in _KEYED or not (isinstance(was, dict) and isinstance(now, dict)):
        return was, now
    old, new = comparable(field, was, ids), comparable(field, now, {})
    return (
        {k: v for k, v in was.items() if old[_new_id(k, ids)] != new.get(_new_id(k, ids))},
        {k: v for k, v in now.items() if new[k] != old.get(k)},
    )


def _new_id(text: str, ids: Names) -> str:
    """An id, perhaps with a mode after a colon, or made of its owner's, as it is now."""
    component, colon, mode = text.partition(":")
    if component not in ids:
        owner, dot, made = component.partition(".")
        component = f"{ids.get(owner, owner)}{dot}{made}"
    return f"{ids.get(component, component)}{colon}{mode}"


def text_of(field: str, value: Any, names: Names) -> str:
    """A value in words; references by name.

    >>> text_of("amps", 7.5, {}), text_of("through", ["k-1"], {"k-1": "Line contactor"})
    ('7.5 A', 'Line contactor')
    >>> text_of("length", {"feet": 12.0, "metres": None}, {}), text_of("tie", True, {})
    ('12 feet', 'yes')
    """
    last = field.rpartition(".")[2]
    if value is None or value in ("", [], {}):
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if last in ("closes-when", "lit-when"):
        return "; or ".join(_terms(terms, names) for terms in value)
    if isinstance(value, Mapping):
        return _table(last, value, names)
    if isinstance(value, list):
        if last in ("volts-range", "charge-amps"):
            return f"{value[0]:g} to {value[1]:g}{_UNITS[last]}"
        if last == "independent":
            return "; ".join(" and ".join(names.get(i, i) for i in pair) for pair in value)
        return ", ".join(text_of(last, one, names) for one in value)
    if isinstance(value, (int, float)):
        return f"{value:g}{_UNITS.get(last, '')}"
    if last in _REFERENCES:
        component, _, mode = value.partition(":")
        return " ".join((names.get(component, component), mode.replace("-", " "))).strip()
    return in_words(value)


def _table(field: str, value: Mapping[str, Any], names: Names) -> str:
    if set(value) == {"any", "all", "need"} or set(value) == {"any"}:
        members = [text_of("any", one, names) for one in value["any"] or value["all"]]
        number = "all" if value["any"] is None else value.get("need", 1)
        return f"{number} of ({', '.join(members)})"
    if field == "length":
        return "".join(f"{each:g} {unit}" for unit, each in value.items() if each)
    keys, colon = (names, ":") if field in _KEYED else ({}, "")
    inner = field if field in _UNITS else ""
    return "; ".join(
        f"{keys.get(key, key.replace('-', ' '))}{colon} {text_of(inner, each, names)}"
        for key, each in value.items()
        if each is not None
    )


def _terms(terms: Mapping[str, Any], names: Names) -> str:
    """A closing condition, all of which must hold."""
    words = [f"{names.get(s, s)} {position}" for s, position in terms["switches"].items()]
    for state in ("live", "dead", "closed", "open"):
        words += [f"{names.get(i, i)} {state}" for i in terms[state]]
    for state in ("above", "below"):
        limits = terms[f"volts-{state}"].items()
        words += [f"{names.get(i, i)} {state} {volts:g} V" for i, volts in limits]
    return ", ".join(words) or "always"


def protection_text(kind: str, protector: Any, names: Names) -> str:
    """A supply's breaker or fuse: `breaker COM 1 10 A, Right side wall C4`."""
    if protector is None:
        return "no breaker of its own"
    if isinstance(protector, str):
        return f"{kind} {names.get(protector, protector)}"
    panel = protector["panel"]
    place = panel_and_position(names.get(panel, panel), protector["at"])
    return ", ".join(
        part for part in (f"{kind} {protector['name']} {protector['amps']:g} A", place) if part
    )


def conductor_text(record: Mapping[str, Any], names: Names) -> Iterable[str]:
    """The gauge, length and amps of a supply or a feed, as far as they are written."""
    for field in ("wire", "length", "amps"):
        if record.get(field) is not None:
            yield f"{'wire ' if field == 'wire' else ''}{text_of(field, record[field], names)}"


def changed_words(was: str, now: str, context: int = 3) -> tuple[str, str]:
    """Two texts without the words that they begin and end with in common, but for a few.

    >>> changed_words("one two three four five six", "one two three four 5 six", 1)
    ('... four five six', '... four 5 six')
    """
    one, other = was.split(), now.split()
    start = 0
    while start < min(len(one), len(other)) and one[start] == other[start]:
        start += 1
    end = 0
    while end < min(len(one), len(other)) - start and one[-1 - end] == other[-1 - end]:
        end += 1
    start, end = max(start - context, 0), max(end - context, 0)

    def part(words: list[str]) -> str:
        inner = words[start : len(words) - end]
        return " ".join((*["..."] * bool(start), *inner, *["..."] * bool(end)))

    return part(one), part(other)
