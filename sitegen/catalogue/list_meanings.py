"""What a column of a breaker list may mean, and the headings that say so."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Meaning:
    """What a column may mean."""

    heading: str
    """As `export` writes it."""
    written: tuple[str, ...]
    """Other ways of writing it, as `plain_heading` gives them. Common practice, no source."""
    guessed: tuple[str, ...] = ()
    """Headings that probably mean it."""


DESIGNATIONS = ("designation", "nomenclature")
"""Headings of the placards or, in a list that has a column for these, of the items."""

MEANINGS = {
    "id": Meaning("Equipment id", ("equipment ident", "item id")),
    "name": Meaning(
        "Equipment",
        ("item", "equipment name", "system", "unit", "consumer", "component", "load name"),
        (
            "name",
            "description",
            "load description",
            "equipment description",
            "function",
            "service",
            "load",
            "title",
        ),
    ),
    "ata": Meaning(
        "ATA",
        ("ata chapter", "ata 100", "ata number", "ata no", "ata ch", "chapter"),
        ("ata code",),
    ),
    "serials": Meaning(
        "Serials",
        (
            "serial",
            "serial numbers",
            "serial number",
            "airframe",
            "airframes",
            "effectivity",
            "eff",
            "effective",
            "applicability",
            "fitted to",
            "msn",
            "s n",
            "sn",
        ),
        ("applies to", "aircraft", "block"),
    ),
    "drawn": Meaning(
        "Amps drawn",
        (
            "load amps",
            "load a",
            "load in a",
            "current drawn",
            "draw",
            "draw a",
            "draw amps",
            "amps draw",
            "continuous amps",
            "continuous load",
            "cont load",
            "consumption",
            "load current",
            "current draw",
        ),
        ("current", "nominal amps"),
    ),
    "reference": Meaning(
        "Reference",
        ("ref", "source", "wiring diagram", "wiring chart", "drawing", "dwg", "document", "wdm"),
        ("page",),
    ),
    "checked": Meaning("Checked", ("checked by", "verified", "verified by")),
    "bus": Meaning(
        "Bus",
        ("bus bar", "busbar", "bus name", "power bus", "supply bus", "source bus", "fed from"),
        ("supply", "feed", "power"),
    ),
    "protection": Meaning("Breaker or fuse", ("protection", "protection type", "device type")),
    "breaker-id": Meaning("Breaker id", ("cb id", "fuse id")),
    "placard": Meaning(
        "Breaker",
        (
            "placard",
            "circuit breaker",
            "cb",
            "cb name",
            "breaker name",
            "breaker placard",
            "label",
            "cb label",
            "circuit breaker name",
            "cb placard",
            "fuse",
            "marking",
            "legend",
        ),
        ("circuit", *DESIGNATIONS),
    ),
    "rating": Meaning(
        "Amps",
        (
            "a",
            "amp",
            "ampere",
            "amperes",
            "rating",
            "cb rating",
            "rating a",
            "breaker amps",
            "rating amps",
            "breaker rating",
            "amp rating",
            "cb amps",
            "rated amps",
            "cb a",
            "fuse amps",
            "size a",
            "trip rating",
        ),
        ("size", "value", "rated"),
    ),
    "panel": Meaning(
        "Panel",
        ("cb panel", "breaker panel", "panel name", "pnl"),
        ("location", "cb location", "breaker location", "where"),
    ),
    "at": Meaning(
        "Position",
        (
            "pos",
            "panel position",
            "grid",
            "row column",
            "cb position",
            "breaker position",
            "slot",
            "row col",
            "panel pos",
            "pnl pos",
            "panel and position",
        ),
        ("place", "coordinates", "zone", "loc"),
    ),
    "wire": Meaning(
        "Wire", ("wire gauge", "gauge", "awg", "wire awg", "an gauge", "wire size", "cable"), ()
    ),
    "supply-serials": Meaning("Serials of this supply", ()),
    "supply-reference": Meaning("Supply reference", ()),
    "supply-checked": Meaning("Supply checked", ()),
    "breaker-reference": Meaning("Breaker reference", ()),
    "breaker-checked": Meaning("Breaker checked", ()),
}

RARE = ("checked", "supply-reference", "supply-checked", "breaker-reference", "breaker-checked")
"""`export` leaves out such a column where no row has anything in it."""

BY_HEADING = {
    text: (meaning, certain)
    for meaning, m in MEANINGS.items()
    for certain, texts in ((True, (m.heading.lower(), *m.written)), (False, m.guessed))
    for text in texts
}
"""By heading, as `plain_heading` gives it: what it means, and whether that is certain."""


def plain_heading(text: str) -> str:
    """A heading in lowercase words.

    >>> plain_heading("C/B  Rating (A)"), plain_heading("Pos.")
    ('cb rating a', 'pos')
    """
    text = text.lower().replace("c/b", "cb").replace("_", " ")
    return " ".join(re.sub(r"[^a-z0-9]+", " ", text).split())


def field_name(meaning: str) -> str:
    """As `--column` names what a column means: the heading that `export` writes, with hyphens.

    >>> field_name("drawn")
    'amps-drawn'
    """
    return MEANINGS[meaning].heading.lower().replace(" ", "-")


NEEDED = ("bus", "placard", "rating")
"""What no list can do without; `name` does for `placard`."""

_WORDS = {
    "bus": ({"bus", "busbar"}, set[str]()),
    "placard": ({"breaker", "cb", "fuse", "placard"}, {"rating", "amps", "size"}),
    "rating": ({"rating", "rated", "amps", "amp"}, {"load", "draw", "drawn", "current", "peak"}),
}
"""By meaning: a word of a heading that probably means it, and words with which it does not."""

_OTHERS = {"no", "number", "id", "type", "code", "panel", "location", "position", "pos", "wire"}


def probable_meaning(heading: str) -> str | None:
    """What is needed that a heading probably means by one of its words, or None.

    >>> probable_meaning("Feeding bus"), probable_meaning("CB location"), probable_meaning("Load")
    ('bus', None, None)
    """
    words = set(plain_heading(heading).split())
    fit = [m for m, (wanted, not_) in _WORDS.items() if words & wanted and not words & not_]
    return fit[0] if len(fit) == 1 and not words & _OTHERS else None


def certain_meaning(heading: str) -> str | None:
    """What a heading means for certain, or None."""
    meaning, certain = BY_HEADING.get(plain_heading(heading), (None, False))
    return meaning if certain else None
