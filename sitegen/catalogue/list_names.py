"""The names in a breaker list: ids made from them, and which spellings are one name."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain, combinations

from sitegen.catalogue.model import LONGEST_ID, Catalogue
from sitegen.catalogue.serials import Range, ranges
from sitegen.words import join_words, quoted

MOST_COMPARED = 200
"""Of how many names each is compared with each; of more, no similar ones are looked for."""
NOUNS = {"bus": ("bus", "buses"), "panel": ("panel", "panels")}


def slug(text: str) -> str:
    """An id made from a name.

    >>> slug("Landing light, L/H")
    'landing-light-l-h'
    """
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:LONGEST_ID].strip("-")


def plain_name(text: str) -> str:
    """A name as it is compared: lowercase, single spaces."""
    return " ".join(text.lower().split())


def bare_name(text: str) -> str:
    """A name without case, blanks, hyphens and punctuation; figures that they part stay apart.

    >>> bare_name("Main-Bus "), bare_name("MAIN BUS"), bare_name("Bus 1-1"), bare_name("Bus +")
    ('mainbus', 'mainbus', 'bus1-1', 'bus+')
    """
    text = unicodedata.normalize("NFKC", text).casefold().strip()
    return re.sub(
        r"(?:[^\w+]|_)+",
        lambda gap: (
            "-"
            if re.fullmatch(
                r"\d\d", text[gap.start() - 1 : gap.start()] + text[gap.end() : gap.end() + 1]
            )
            else ""
        ),
        text,
    )


def free_id(wanted: str, taken: set[str]) -> str:
    """An id that is not taken: the wanted one, or one with a number after it."""
    made, number = wanted, 1
    while made in taken:
        # Of thousands with one name, the next number is free when all that are taken are counted.
        number = number + 1 if number < 100 else max(number + 1, len(taken))
        made = f"{wanted[: LONGEST_ID - 6]}-{number}"
    return made


@dataclass
class KnownNames:
    """The buses, panels and airframes that a list may name: ids by id and by name."""

    ids: dict[str, dict[str, str]]
    """By meaning (`bus`, `panel`, `serials`): the id by the name as it is compared."""
    names: dict[str, dict[str, str]] = field(default_factory=dict)
    """By meaning: the name as first written, by id, where a new catalogue is made."""
    grows: bool = False
    """Whether an unknown name becomes a new record."""
    serials: dict[str, list[Range]] = field(default_factory=dict)
    """By airframe: its serial numbers, where they are known."""
    rows: dict[str, dict[str, dict[str, list[int]]]] = field(default_factory=dict)
    """By meaning, id and spelling: the rows of the list that have it."""
    _bare: dict[str, dict[str, set[str]]] = field(default_factory=dict)
    _taken: set[str] = field(default_factory=set)

    def id_of(self, meaning: str, text: str, row: int = 0) -> str | None:
        """The id that a name means, or None: spellings that differ in punctuation are one name."""
        known = self.ids.setdefault(meaning, {})
        if meaning not in self._bare:
            self._bare[meaning] = {}
            for name, i in known.items():
                self._bare[meaning].setdefault(bare_name(name), set()).add(i)
        found = known.get(plain_name(text))
        if found is None and meaning in NOUNS and bare_name(text):
            same = self._bare[meaning].get(bare_name(text), set())
            found = next(iter(same)) if len(same) == 1 else None
        if found is None and self.grows and slug(text):
            found = free_id(slug(text), self._taken)
            self._taken.add(found)
            known[plain_name(text)] = found
            self.names.setdefault(meaning, {})[found] = text
            self._bare[meaning].setdefault(bare_name(text), set()).add(found)
        if found is not None:
            spellings = self.rows.setdefault(meaning, {}).setdefault(found, {})
            spellings.setdefault(text, []).append(row)
        return found

    def spellings(self) -> Iterator[str]:
        """Which names were taken for one, for the reader to check."""
        for meaning, (noun, _) in NOUNS.items():
            for i, rows in self.rows.get(meaning, {}).items():
                first = self.names.get(meaning, {}).get(i)
                others = [
                    f"{quoted(text)} ({_rows(numbers)})"
                    for text, numbers in rows.items()
                    if (text != first if first else plain_name(text) not in self.ids[meaning])
                ]
                if others:
                    verb = "is" if len(others) == 1 else "are"
                    others_text = join_words(others, most=5)
                    yield f"{others_text} {verb} taken for the {noun} {quoted(first or i)}."

    def questions(self) -> Iterator[str]:
        """Names that are nearly the same, and may be one that was mistyped."""
        for meaning, (noun, nouns) in NOUNS.items():
            names = self.names.get(meaning, {})
            if len(names) > MOST_COMPARED:
                continue
            for (i, one), (j, other) in combinations(names.items(), 2):
                if nearly_same(one, other):
                    a, b = (chain(*self.rows[meaning][k].values()) for k in (i, j))
                    yield (
                        f"{quoted(one)} ({_rows(a)}) and {quoted(other)} ({_rows(b)}): one {noun}?"
                        f" They are two {nouns} now. If they are one, correct the list and start"
                        " again in a new folder."
                    )


def _rows(numbers: Iterable[int]) -> str:
    texts = [str(number) for number in sorted(set(numbers))]
    return f"{'row' if len(texts) == 1 else 'rows'} {join_words(texts, most=4)}"


def nearly_same(one: str, other: str) -> bool:
    """Whether two names are one letter apart, or apart from the word bus or panel.

    A single letter (`L bus`, `R bus`), a word of two letters and a figure name different things.

    >>> nearly_same("Main bus", "Mian bus"), nearly_same("AC bus", "DC bus"), nearly_same("A", "B")
    (True, False, False)
    """
    from rapidfuzz.distance import OSA  # most commands read no list

    words, others = (re.findall(r"[^\W_]+", text.casefold()) for text in (one, other))
    bare, bare_other = ([w for w in of if w not in NOUNS] for of in (words, others))
    if bare and bare == bare_other:
        return True
    if len(words) != len(others):
        words, others = ["".join(words)], ["".join(others)]
    apart = [(a, b) for a, b in zip(words, others, strict=True) if a != b]
    return (
        len(apart) == 1
        and min(map(len, apart[0])) > 2
        and re.sub(r"\D", "", apart[0][0]) == re.sub(r"\D", "", apart[0][1])
        and OSA.distance(*apart[0], score_cutoff=1) == 1
    )


def names_in(catalogue: Catalogue) -> KnownNames:
    """What a list may name in a catalogue."""
    known = KnownNames(
        {
            meaning: {
                plain_name(text): record.id
                for record in records
                for text in (record.name, record.id)
            }
            for meaning, records in (
                ("bus", catalogue.buses),
                ("panel", catalogue.panels),
                ("serials", catalogue.airframes),
            )
        },
        serials={a.id: ranges(a.serials) for a in catalogue.airframes if a.serials},
    )
    for name, airframe in list(known.ids["serials"].items()):
        # A column headed Serials has `1-24` for what is named `Serials 1-24`.
        known.ids["serials"].setdefault(name.removeprefix("serials "), airframe)
    return known
