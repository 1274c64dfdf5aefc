"""The sentences for what a record's field may not be."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any

from pydantic import BaseModel

from sitegen.catalogue import model
from sitegen.catalogue.characters import code_points
from sitegen.catalogue.did_you_mean import closest
from sitegen.catalogue.kinds import SECTION_NOUNS
from sitegen.catalogue.yaml_values import Node, find
from sitegen.words import counted, join_words, quoted, shortened

LONGEST_NUMBER = 30
"""A longer row of figures is no number that anybody meant."""

FIELDS = "fields with values"

_CONTAINERS: dict[type[BaseModel], str] = {
    model.Supply: "supply",
    model.Protector: "breaker or fuse",
    model.Feed: "converter's input",
    model.Length: "length",
    model.Checked: "check",
    model.Terms: "closing condition",
    model.AnyOf: "list of alternatives",
    model.Then: "crew's action",
    model.BatteryTime: "battery-time",
}


def container_noun(record: type[BaseModel] | None) -> str:
    """What a part of a record is called; nothing for the record itself."""
    return _CONTAINERS.get(record, "") if record else ""


def who(root: Node, path: tuple[str | int, ...], noun_only: bool = False) -> str:
    """The record at a path, as a message names it: `equipment com-1`.

    A feeder has no id, so it goes by its ends; a record without an id, by its position.
    """
    section = str(path[0]) if path else ""
    noun = SECTION_NOUNS.get(section, section)
    if noun_only or len(path) < 2 or not isinstance(path[1], int):
        return noun
    fields = find(root, path[:2]).value
    if isinstance(fields, dict):
        if section == "feeders":
            ends = [fields[end].value for end in ("from", "to") if end in fields]
            if len(ends) == 2 and all(isinstance(end, str) for end in ends):
                return f"{noun} {_short(ends[0])} to {_short(ends[1])}"
        for field in ("id", "name"):
            if field in fields and isinstance(fields[field].value, str) and fields[field].value:
                return f"{noun} {_short(fields[field].value)}"
    return f"{noun} number {path[1] + 1}"


def _short(text: str) -> str:
    return quoted(text)[1:-1]


def field_words(
    problem: Mapping[str, Any], node: Node, subject: str, ids: Collection[str] = ()
) -> tuple[str, str]:
    """The message and the hint for a field's wrong value.

    Parameters
    ----------
    problem : what the validator found: its `type`, and a `ctx` with the limits.
    node : the value as it is in the file.
    subject : what the sentence is about, such as the field's name.
    ids : those that may be meant where a name is not a valid id.
    """
    kind: str = problem["type"]
    limits: Mapping[str, Any] = problem.get("ctx", {})
    written = _written(node)
    if kind == "literal_error":
        return _one_of(node, subject, expected_words(problem))
    if subject == quoted("ata") and kind in ("string_type", "string_pattern_mismatch"):
        return _ata(node, written)
    if kind == "string_pattern_mismatch":
        return _pattern(node, subject, str(limits["pattern"]), ids)
    if kind == "string_type":
        return f"{subject} must be text, not {_what(node)}.", _text_hint(node, subject)
    if kind in ("float_type", "int_type") and _is_long_number(node):
        return f"{subject} must be a number of a sensible size, not {written}.", ""
    if kind in ("float_type", "int_type", "int_from_float"):
        whole = "" if kind == "float_type" else "whole "
        return f"{subject} must be a {whole}number, not {written}.", _number_hint(node)
    if kind == "invisible":
        codes = code_points(str(node.value))
        return f"{subject} has nothing visible, only {codes}.", "Write it again."
    if kind == "bool_type":
        return f"{subject} must be true or false, not {written}.", "Write it without quotes."
    if kind in ("list_type", "tuple_type"):
        hint = "Write [ and ] round it."
        if isinstance(node.value, str):
            hint = f"Write [{shortened(node.value)}]."
        return f"{subject} must be a list, not {_what(node)}.", hint
    if kind in ("dict_type", "model_type", "model_attributes_type"):
        unit = isinstance(node.value, (int, float)) and subject == quoted("length")
        hint = f"Write {{feet: {node.value}}} or {{metres: {node.value}}}." if unit else ""
        if subject == quoted("checked"):
            hint = "Write {by: name, on: 2026-11-20, against: document}."
        return (
            f"{subject} must be fields with values, not {_what(node)}.",
            hint or "Write {field: value}.",
        )
    return _limit(kind, limits, subject, written) or (
        f"{subject} is wrong ({problem['msg']}).",
        "",
    )


def _limit(
    kind: str, limits: Mapping[str, Any], subject: str, written: str
) -> tuple[str, str] | None:
    bounds = {
        "greater_than": ("more than", "gt"),
        "greater_than_equal": ("at least", "ge"),
        "less_than": ("less than", "lt"),
        "less_than_equal": ("at most", "le"),
    }
    if kind in bounds:
        words, key = bounds[kind]
        return f"{subject} must be {words} {limits[key]:g}, not {written}.", ""
    if kind == "finite_number":
        return f"{subject} must be a number of a sensible size, not {written}.", ""
    if kind == "string_too_short":
        return f"{subject} is empty.", "Write the text, or delete the line."
    if kind == "string_too_long":
        return f"{subject} is longer than {limits['max_length']} characters.", "Shorten it."
    if kind == "too_short":
        least = limits["min_length"]
        if subject == quoted("supplies"):
            return "it has no supply.", "Name the bus that feeds it: supplies: [{bus: …}]."
        return f"{subject} needs {counted(least, 'entry', 'entries')} at least.", ""
    if kind == "too_long":
        return (
            f"{subject} may have {counted(limits['max_length'], 'entry', 'entries')} at most.",
            "",
        )
    if kind == "value_error":
        instead = "" if written == FIELDS else f", not {written}"
        return f"{subject} {limits['error']}{instead}.", ""
    return None


def expected_words(problem: Mapping[str, Any]) -> list[str]:
    """The words of the fixed list that a value is not in."""
    return re.findall(r"'([^']*)'", str(problem["ctx"]["expected"]))


def likely_id(text: str) -> str | None:
    """The id that a text is most similar to, if it holds a letter or digit at all.

    >>> likely_id("Left Main_1")
    'left-main-1'
    """
    words = re.findall(r"[a-z0-9]+", text[:200].lower())
    return "-".join(words)[: model.LONGEST_ID].strip("-") or None


def _one_of(node: Node, subject: str, words: list[str]) -> tuple[str, str]:
    meant = closest(node.value, words) if isinstance(node.value, str) else None
    one = join_words([quoted(word) for word in words], "or")
    hint = f"Did you mean {quoted(meant)}?" if meant else ""
    return f"{subject} must be {one}, not {_written(node)}.", hint


def meant_id(text: str, ids: Collection[str]) -> str | None:
    """The id that a text is meant for: one of these, or else the most similar valid one.

    >>> meant_id("left_mian", ["left-main"]), meant_id("Left Main_1", [])
    ('left-main', 'left-main-1')
    """
    guess = likely_id(text)
    return guess and (closest(guess, ids) or guess)


def _pattern(node: Node, subject: str, pattern: str, ids: Collection[str]) -> tuple[str, str]:
    written = _written(node)
    if pattern == model.ID_PATTERN and not node.value:
        return f"{subject} is empty.", "Write the id."
    if pattern == model.ID_PATTERN:
        meant = meant_id(str(node.value), ids)
        message = (
            f"{written} is not a valid id: an id is lowercase letters and digits, in words joined "
            "by single hyphens, like `left-main`."
        )
        return message, f"Did you mean {quoted(meant)}?" if meant else ""
    if pattern == model.ONE_LINE:
        message = f"{subject} must be one line of text, with no space before or after it."
        return message, "After `>` or `|` write a hyphen: `>-`." if "\n" in str(node.value) else ""
    return f"{subject} cannot be {written}.", ""


def _text_hint(node: Node, subject: str) -> str:
    if node.written:
        return f'Write "{node.written}" in quotes.'
    if subject == quoted("failed") and isinstance(node.value, dict) and len(node.value) == 1:
        # `main: shorted` is a table of one field to YAML, and a failed bus to its author.
        ((key, inner),) = node.value.items()
        if isinstance(inner.value, str):
            return f'Write "{shortened(key)}:{shortened(inner.value)}", without the space.'
    return ""


def _ata(node: Node, written: str) -> tuple[str, str]:
    message = f"`ata` must be an ATA chapter like `23`, `23-12` or `23-12-01`, not {written}."
    plain = node.written or str(node.value)
    # A number has lost its last zero: 33.4 was 33.40.
    pairs = re.findall(r"\d+", plain) if re.fullmatch(r"\d+(\D\d+)*", plain) else []
    if pairs and "." in plain and len(pairs) == 2 and len(pairs[1]) == 1:
        pairs[1] += "0"
    digits = "".join(pair.zfill(2) for pair in pairs)
    if len(digits) not in (2, 4, 6):
        return message, ""
    return message, f"Write {'-'.join(digits[i : i + 2] for i in range(0, len(digits), 2))}."


def _number_hint(node: Node) -> str:
    text = node.value if isinstance(node.value, str) and len(node.value) <= LONGEST_NUMBER else ""
    comma = re.fullmatch(r"([0-9]+),([0-9]+)", text)
    if comma and len(comma[2]) != 3:
        return f"Write a decimal point: {comma[1]}.{comma[2]}"
    if comma:
        return f"Write {comma[1]}{comma[2]} without the comma."
    if re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
        return f"Write {text} without quotes."
    unit = re.match(r"([0-9]+(\.[0-9]+)?)\s*[A-Za-z%]+$", text)
    return f"Write {unit[1]} alone, without the unit." if unit else ""


def _is_long_number(node: Node) -> bool:
    return (
        isinstance(node.value, str)
        and len(node.value) > LONGEST_NUMBER
        and (node.value.lstrip("+-").replace(".", "", 1).isdigit())
    )


def _what(node: Node) -> str:
    if isinstance(node.value, bool):
        return f"the truth value {_written(node)}"
    if isinstance(node.value, (int, float)):
        return f"the number {_written(node)}"
    return _written(node)


def _written(node: Node) -> str:
    if isinstance(node.value, dict):
        return FIELDS
    if isinstance(node.value, list):
        return "a list"
    return quoted(node.written or str(node.value))
