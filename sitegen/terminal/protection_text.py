"""How much the audit of protection could judge, in words."""

from __future__ import annotations

from sitegen.answers.protection.protection_records import Judged, Tally
from sitegen.words import join_words

MOST_NAMED = 5
"""Of those that could not be judged; more are only counted."""


def judged_text(judged: Judged) -> str:
    """`Judged by load: 8 of 9 breakers, fuses and links (not FAN); ...`, in one line."""
    rules = (
        ("load", judged.load, "breakers, fuses and links"),
        ("wire gauge", judged.gauge, "breakers and fuses"),
        ("voltage drop", judged.drop, "conductors"),
    )
    texts = [f"by {rule}, {_share(tally)} {noun}{_named(tally)}" for rule, tally, noun in rules]
    why = (
        " What is not judged lacks a figure (rating, amps, gauge, length), is in no table, or"
        " carries nothing in any condition."
    )
    return f"Judged {'; '.join(texts)}.{why if is_lacking(judged) else ''}"


def is_lacking(judged: Judged) -> bool:
    """Whether there is anything that could not be judged."""
    return any(tally.without for tally in (judged.load, judged.gauge, judged.drop))


def _share(tally: Tally) -> str:
    of = len(tally.every)
    return f"{of - len(tally.without)} of {of}"


def _named(tally: Tally) -> str:
    names = [tally.every[key] for key in tally.without]
    return f" (not {join_words(names, 'or')})" if 0 < len(names) <= MOST_NAMED else ""
