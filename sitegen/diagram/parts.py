"""The parts of a drawing, the five states they can be in, and how wide a text is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

State = Literal["live", "battery", "dead", "failed", "open"]

STATES: tuple[State, ...] = ("live", "battery", "dead", "open", "failed")
"""In the order in which a legend lists them."""

STATE_NAMES: dict[State, str] = {
    "live": "Live",
    "battery": "On battery only",
    "dead": "Dead",
    "open": "Open",
    "failed": "Failed itself",
}

STATE_WORDS: dict[State, str] = {
    "live": "LIVE",
    "battery": "BATT",
    "dead": "DEAD",
    "open": "OPEN",
    "failed": "FAILED",
}
"""The short word beside a part in that state."""

STUCK = "STUCK"
"""Instead, beside a failed contactor that still conducts."""

VIEWS = 20
"""How many numbered views (conditions, before and after crew action) one page may show."""


@dataclass(frozen=True)
class PartKey:
    """What one element of a drawing is, so that its state and link can be looked up.

    A device may be in several feeders (the poles of a contactor), so a device has its feeder and
    its place there as well.
    """

    kind: Literal["node", "device", "wire"]
    id: str
    """The node's or the device's id; of a wire `from..to`."""
    feeder: int | None = None
    """Index into `catalogue.feeders`; with `converter`, into that converter's `fed_from`."""
    segment: int | None = None
    """Of a device its index in `through`; of a wire how many devices of `through` lie before it,
    counted from the feeder's `from`."""
    converter: str | None = None
    """The converter whose input this wire or device is in."""


# Advance widths of the common sans-serif at 1000 units per em, from memory of its metric file.
_WIDTHS = {
    **dict.fromkeys("abdeghnopqu0123456789_L?$#+<=>~", 560),
    **dict.fromkeys("cksvxyzJ", 500),
    **dict.fromkeys("ijl'|", 225),
    **dict.fromkeys("ft.,:;/\\! I[]()-", 300),
    **dict.fromkeys('r"*', 345),
    **dict.fromkeys("FTZ", 611),
    **dict.fromkeys("ABEKPSVXY&", 667),
    **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("GOQ", 778),
    **dict.fromkeys("mM", 833),
    **dict.fromkeys("W%@", 944),
}


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """About how wide a text is drawn, in drawing units; on the generous side.

    >>> text_width("Left main bus", 12) < text_width("Left main bus", 12, bold=True)
    True
    """
    units = sum(_WIDTHS.get(letter, 700) for letter in text)
    return units / 1000 * size * (1.1 if bold else 1.04)


@lru_cache(maxsize=4096)
def wrapped(
    text: str, width: float, size: float, bold: bool = False, most: int = 3
) -> tuple[str, ...]:
    """A text in lines of about this width, as even as can be, cut short after `most` lines.

    A long word may widen them by four tenths before it is broken.

    >>> wrapped("Generator 1 line contactor", 90, 12)
    ('Generator 1', 'line contactor')
    """
    # A word may end its line at a hyphen, but only one that would not fit otherwise.
    whole = [
        part
        for word in text.split()
        for part in (
            word.replace("-", "- ").split() if text_width(word, size, bold) > width else [word]
        )
    ]
    longest = max((text_width(word, size, bold) for word in whole), default=0)
    width = max(width, min(longest, 1.4 * width))
    words = [part for word in whole for part in _cut(word, width, size, bold)]
    lines = _filled(words, width, size, bold)
    if len(lines) > most:
        kept = lines[:most]
        while text_width(kept[-1] + "…", size, bold) > width and len(kept[-1]) > 1:
            kept[-1] = kept[-1][:-1]
        kept[-1] = kept[-1].rstrip() + "…"
        return tuple(kept)
    # The narrowest width that still gives as many lines makes them even.
    best = lines
    for narrower in range(int(width), 0, -4):
        tried = _filled(words, narrower, size, bold)
        if len(tried) > len(lines) or any(text_width(t, size, bold) > width for t in tried):
            break
        best = tried
    return tuple(best)


def _cut(word: str, width: float, size: float, bold: bool) -> list[str]:
    """A word in parts that each fit, for the rare one that is longer than a line."""
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size, bold) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def _filled(words: list[str], width: float, size: float, bold: bool) -> list[str]:
    lines: list[str] = []
    for word in words:
        between = "" if lines and lines[-1].endswith("-") else " "
        if lines and text_width(f"{lines[-1]}{between}{word}", size, bold) <= width:
            lines[-1] += between + word
        else:
            lines.append(word)
    return lines
