"""The ids that nobody writes: those of breakers and fuses written in place in a supply."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from sitegen.catalogue.model import Catalogue, Equipment, Indication, Protector, Supply

Kind = Literal["breaker", "fuse"]


def protector_id(owner_id: str, supplies_count: int, index: int, kind: str) -> str:
    """The id of a supply's own breaker or fuse where the author gave none.

    Parameters
    ----------
    owner_id : the id of the equipment or indication that the supply belongs to.
    supplies_count : how many supplies the owner has in its full list, on all airframes together.
    index : the supply's place in that full list, counted from 0.
    kind : what the protector is.

    Returns
    -------
    The owner's id, a dot and the kind; with several supplies also the supply's number from 1.
    The full list counts, so that a breaker keeps its id from one airframe to the next.

    Examples
    --------
    >>> protector_id("com-1", 1, 0, "breaker")
    'com-1.breaker'
    >>> protector_id("com-1", 2, 1, "fuse")
    'com-1.fuse-2'
    """
    return f"{owner_id}.{kind}" if supplies_count == 1 else f"{owner_id}.{kind}-{index + 1}"


def own_protectors(catalogue: Catalogue) -> Iterator[tuple[Supply, Kind, Protector, str]]:
    """(supply, kind, protector, its id) of every breaker and fuse that is written in a supply.

    Parameters
    ----------
    catalogue : the whole fleet's, so that a breaker has one id on every airframe.
    """
    from sitegen.catalogue.model import Protector

    owners: tuple[Equipment | Indication, ...] = (*catalogue.equipment, *catalogue.indications)
    for owner in owners:
        for index, supply in enumerate(owner.supplies):
            kind: Kind = "breaker" if supply.fuse is None else "fuse"
            written = supply.fuse if supply.fuse is not None else supply.breaker
            if isinstance(written, Protector):
                made = written.id or protector_id(owner.id, len(owner.supplies), index, kind)
                yield supply, kind, written, made
