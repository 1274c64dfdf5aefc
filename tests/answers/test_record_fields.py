"""What each field of the catalogue's format is to the trade, when it changes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel

from sitegen.answers.record_fields import changed_words, kind_of, text_of
from sitegen.catalogue.model import BatteryTime, Catalogue, Checked, Group, Length, OpensAt, Terms

WHOLE = (Terms, OpensAt, Length, Checked, Group, BatteryTime)
"""What is compared as one value within a record."""
OF_WIRING = (
    *("kind", "current", "fed-from", "bus", "through", "synchronised", "closes-when", "protective"),
    *("rides-through", "from", "to", "tie", "supplies", "breaker", "fuse", "any", "needs"),
    *("requires", "positions", "at", "lit-when", "fitted-to"),
    # Compared apart, as the names of the two revisions.
    *("revision", "revised"),
)


def models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from models(part)


def fields(section: str, model: type[BaseModel]) -> Iterator[tuple[str, str]]:
    """(section, field) of a record, and of what is written within it."""
    for name, info in model.model_fields.items():
        yield section, info.alias or name
        for inner in models(info.annotation):
            if inner not in WHOLE:
                yield from fields(section, inner)


def by_kind() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for section, info in Catalogue.model_fields.items():
        if section == "accepted":  # compared as a text
            continue
        for model in models(info.annotation):
            for of, field in fields((info.alias or section).replace("_", "-"), model):
                found.setdefault(kind_of(of, field), set()).add(field)
    return found


def test_a_new_field_of_the_format_must_be_given_a_kind_here() -> None:
    # What is left counts as wiring: a field that is not wiring must be named in the module.
    assert by_kind()["rewired"] == set(OF_WIRING)
    assert by_kind()["moved"] == {"panel", "at", "where", "ground-only", "rows", "columns"}
    assert by_kind()["checked"] == {"reference", "checked"}
    assert by_kind()["renamed"] == {"id", "name"}


def test_values_are_shown_in_words_of_the_trade() -> None:
    names = {"left": "Left bus", "k": "Line contactor", "s": "Master switch", "level": "Level"}
    terms = {
        "switches": {"s": "on"},
        "live": ["left"],
        "dead": [],
        "closed": [],
        "open": ["k"],
        "volts-above": {"left": 26.0},
        "volts-below": {},
    }
    assert text_of("closes-when", [terms], names) == (
        "Master switch on, Left bus live, Line contactor open, Left bus above 26 V"
    )
    assert text_of("amps", {"level": 1.5}, names) == "Level: 1.5 A"
    assert text_of("failed", ["left:shorted"], names) == "Left bus shorted"
    assert text_of("volts-range", [22.0, 25.2], names) == "22 to 25.2 V"
    either = {"any": ["left", "k"], "all": None, "need": 1}
    assert text_of("provided-by", [either], names) == "1 of (Left bus, Line contactor)"
    assert text_of("note", "See [the left bus](left).", names) == "See the left bus."


def test_of_a_long_text_only_what_is_not_the_same_is_shown() -> None:
    was, now = "a b c d e f g h i j", "a b c d E f g h i j"
    assert changed_words(was, now) == ("... b c d e f g h ...", "... b c d E f g h ...")
    assert changed_words("a b", "a b c") == ("a b", "a b c")
    assert changed_words("", "a") == ("", "a")
