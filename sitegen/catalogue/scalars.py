"""Unquoted words of YAML: which are text, which are numbers, and which are traps.

YAML 1.1 reads some plain words as something that the author did not write: `on` as true, `1:30`
as ninety, `010` as eight. Each of these is reported with the fix, and the text as it was written
is carried on, so that one mistake gives one message.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sitegen.words import quoted

TRUE = frozenset({"true", "True", "TRUE"})
FALSE = frozenset({"false", "False", "FALSE"})
READ_AS_TRUE = frozenset(
    spelt for word in ("yes", "on") for spelt in (word, word.title(), word.upper())
)
READ_AS_FALSE = frozenset(
    spelt for word in ("no", "off") for spelt in (word, word.title(), word.upper())
)
NOTHING = frozenset({"", "~", "null", "Null", "NULL"})

_RESERVED = TRUE | FALSE | READ_AS_TRUE | READ_AS_FALSE | NOTHING
_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]{0,17})")
_DECIMAL = re.compile(r"[-+]?([0-9]{1,30}\.[0-9]{0,30}|\.?[0-9]{1,30})([eE][-+]?[0-9]{1,4})?")
_ZERO_FIRST = re.compile(r"[-+]?0[0-9]{1,30}")
_OTHER_BASE = re.compile(r"[-+]?0(x[0-9a-fA-F_]+|o[0-7_]+|b[01_]+)")
_UNDERSCORED = re.compile(r"[-+]?[0-9][0-9_]*_[0-9_]*(\.[0-9_]*)?")
_SIXTIES = re.compile(r"[-+]?[0-9][0-9_]*(:[0-5]?[0-9])+(\.[0-9_]*)?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([Tt \t]+[0-9:.]+.*)?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")

Scalar = str | int | float | bool | None


@dataclass(frozen=True)
class Trap:
    """A plain word that YAML reads as something else, and how to write it instead."""

    message: str
    hint: str


def resolve(text: str, date_expected: bool = False) -> tuple[Scalar, Trap | None]:
    """What an unquoted word means, and the trap that it is, if it is one.

    Parameters
    ----------
    text : the word as it is in the file.
    date_expected : whether a date is allowed here.

    Returns
    -------
    The value (a trap's value is its text; nothing at all is None), and the trap or None.

    Examples
    --------
    >>> resolve("left-main"), resolve("28.5"), resolve("true")
    (('left-main', None), (28.5, None), (True, None))
    >>> resolve("on")[1].message
    '`on` without quotes is read as true.'
    """
    if text in _RESERVED:
        return _reserved(text)
    if text[0] not in "-+.0123456789" or len(text) > 60:
        return text, None
    if _INTEGER.fullmatch(text):
        return int(text), None
    if _ZERO_FIRST.fullmatch(text):
        return text, _zero_first(text)
    if _DECIMAL.fullmatch(text):
        return float(text), None
    if _DATE.fullmatch(text):
        return text, None if date_expected else _quoted(text, "is read as a date")
    if _SIXTIES.fullmatch(text):
        return text, _quoted(text, "is read as a number to the base of sixty")
    if _OTHER_BASE.fullmatch(text) or _UNDERSCORED.fullmatch(text):
        return text, _other_number(text)
    if _NOT_FINITE.fullmatch(text):
        return text, _quoted(text, "is read as infinity or as not a number")
    return text, None


def _reserved(text: str) -> tuple[Scalar, Trap | None]:
    if text in TRUE:
        return True, None
    if text in FALSE:
        return False, None
    if text == "":
        return None, Trap("There is no value.", "Write the value, or delete the line.")
    if text in NOTHING:
        hint = f'Write "{text}" in quotes if this text is meant, or delete the line.'
        return None, Trap(f"{quoted(text)} without quotes is read as nothing.", hint)
    read_as = "true" if text in READ_AS_TRUE else "false"
    return text, Trap(
        f"{quoted(text)} without quotes is read as {read_as}.",
        f'Write "{text}" in quotes; where a true or false is meant, write {read_as}.',
    )


def _quoted(text: str, how: str) -> Trap:
    return Trap(f"{quoted(text)} without quotes {how}.", f'Write "{text}" in quotes.')


def _zero_first(text: str) -> Trap:
    return Trap(
        f"{quoted(text)} without quotes begins with a zero, which is read as octal.",
        f'Write {int(text)} for the number, "{text}" in quotes for the text.',
    )


def _other_number(text: str) -> Trap:
    try:
        plain = str(int(text, 0))
    except ValueError:
        plain = text.replace("_", "")
    return Trap(
        f"{quoted(text)} without quotes is read as the number {plain}.",
        f'Write {plain} for the number, "{text}" in quotes for the text.',
    )
