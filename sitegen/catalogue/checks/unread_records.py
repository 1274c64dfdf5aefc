"""What may exist in records that could not be understood, so that it is not reported as missing."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from sitegen.catalogue.did_you_mean import closest
from sitegen.catalogue.model import ID_PATTERN
from sitegen.catalogue.yaml_values import Node, ids_in

MOST_NAMELESS = 20
"""Of how many records without a valid id the words are kept."""

_ID = re.compile(ID_PATTERN)


@dataclass(frozen=True)
class UnreadRecords:
    """The names that may belong to records that were left out."""

    everything: bool = False
    """Files or sections could not be read, so that any name may exist."""
    some: bool = False
    """Records could not be understood."""
    ids: frozenset[str] = frozenset()
    """Every id that is written anywhere, also where it is no proper one."""
    nameless: tuple[frozenset[str], ...] = ()
    """For each record without an id, the words that it holds."""

    def may_be(self, name: str) -> bool:
        """Whether something of this name may have been left out."""
        if self.everything or name in self.ids:
            return True
        # A breaker's made-up id may count supplies that were left out.
        if self.some and "." in name:
            return True
        return any(_named_after(name, words) for words in self.nameless) or (
            bool(self._no_ids) and closest(name, self._no_ids) is not None
        )

    @cached_property
    def _no_ids(self) -> list[str]:
        """Ids with a wrong letter in them: what names them rightly is right."""
        return sorted(i for i in self.ids if not _ID.fullmatch(i))[:MOST_NAMELESS]


def unread_in(root: Node) -> UnreadRecords:
    """What may exist in the records that were left out of a tree."""
    nameless: list[frozenset[str]] = []
    for section, node in root.value.items():
        if not isinstance(node.value, list) or section in ("feeders", "accepted"):
            continue
        for record in node.value:
            fields = record.value
            if not isinstance(fields, dict):
                continue
            name = fields["id"].value if "id" in fields else None
            if len(nameless) < MOST_NAMELESS and not (isinstance(name, str) and name):
                nameless.append(frozenset(_words(fields)))
    return UnreadRecords(some=True, ids=frozenset(ids_in(root)), nameless=tuple(nameless))


def _words(fields: dict[str, Node]) -> Iterable[str]:
    for key, node in fields.items():
        # `id= essential` is a field's name to YAML, and the author's id.
        texts = (
            [node.written or str(node.value)] if not isinstance(node.value, (dict, list)) else []
        )
        for text in texts if _ID.fullmatch(key) else [*texts, key]:
            yield from re.findall("[a-z0-9]+", text.lower())


def _named_after(name: str, words: frozenset[str]) -> bool:
    """Whether an id is made of these words: `k-gen-1` of the words of `Generator 1 contactor`."""
    first, *rest = name.split("-")
    if rest and len(first) <= 2:
        return all(_begins(part, words) for part in rest)
    return all(_begins(part, words) for part in (first, *rest))


def _begins(part: str, words: frozenset[str]) -> bool:
    return any(word.startswith(part) for word in words)
