"""Rules about the abbreviations on placards."""

from __future__ import annotations

import re
from collections.abc import Iterator

from sitegen.catalogue.checks.context import CheckContext
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.words import quoted

WORD = re.compile(r"[^\W_]+")
"""A word of letters and digits, as the search reads it."""


def abbreviations_are_single_words(m: CheckContext) -> Iterator[Finding]:
    """The search reads word by word, so an abbreviation is one word, and means another."""
    for short, meaning in m.catalogue.abbreviations.items():
        if not WORD.fullmatch(short):
            yield error(
                m.key_at(("abbreviations", short)),
                f"abbreviations: {quoted(short)} is not one word of letters and digits.",
                "List its words one by one: `LDG` and `LT`, not `LDG LT`.",
            )
        elif all(words(part) in ([], [short.casefold()]) for part in meaning.split(",")):
            yield error(
                m.at(("abbreviations", short)),
                f"abbreviations: {quoted(short)} stands for {quoted(meaning)}, which says no more.",
                "Write the words out, or delete the line.",
            )


def abbreviations_are_unique(m: CheckContext) -> Iterator[Finding]:
    """Capital and small letters are the same to the search."""
    firsts: dict[str, str] = {}
    for short in m.catalogue.abbreviations:
        first = firsts.setdefault(short.casefold(), short)
        if first != short:
            yield error(
                m.key_at(("abbreviations", short)),
                f"abbreviations: {quoted(short)} and {quoted(first)} are the same to the search.",
                "Put all meanings into one line, with commas.",
            )


def abbreviations_are_used(m: CheckContext) -> Iterator[Finding]:
    """An abbreviation, or all words of what it stands for, occurs in some name."""
    names = {
        frozenset(words(getattr(entry.record, "name", "")))
        for by_id in m.spaces.values()
        for entries in by_id.values()
        for entry in entries
    }
    for short, meaning in m.catalogue.abbreviations.items():
        parts = map(words, meaning.split(","))
        sought = [{short.casefold()}, *(set(part) for part in parts if part)]
        if WORD.fullmatch(short) and not any(one <= name for one in sought for name in names):
            yield advice(
                m.key_at(("abbreviations", short)),
                f"abbreviations: no name has {quoted(short)} in it, or what it stands for.",
                "Fix it, or delete the line.",
            )


def words(text: str) -> list[str]:
    """The words of a text, as the search reads them."""
    return [word.casefold() for word in WORD.findall(text)]
