"""Which row of a catalogue's list a row of another list is about."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from sitegen.catalogue.breaker_list import ListRow
from sitegen.catalogue.list_names import bare_name, plain_name


@dataclass
class Matches:
    """What each row of a list is about, by the row's place in it."""

    same: dict[int, ListRow] = field(default_factory=dict)
    """The supply, or the breaker in a feeder, that the row is about."""
    also: dict[int, list[ListRow]] = field(default_factory=dict)
    """The same of other airframes, where the row is of all airframes."""
    other_supply: dict[int, ListRow] = field(default_factory=dict)
    """A supply of the same equipment, which does not have the row's one yet."""
    on_breaker: dict[int, ListRow] = field(default_factory=dict)
    """A supply of other equipment through the same breaker."""
    several: dict[int, list[ListRow]] = field(default_factory=dict)
    """The supplies that it may be about; nothing in the row says which one."""
    of_several: set[int] = field(default_factory=set)
    """Rows without equipment, about a breaker that feeds several items."""
    taken: set[int] = field(default_factory=set)
    """The identities of the catalogue's rows that the list has."""


def serials_of(row: ListRow) -> set[str]:
    """The airframes that have a row's item or supply; empty: all."""
    text = row.values.get("serials") or row.values.get("supply-serials") or ""
    return set(text.split(", ")) - {""}


def apart(one: ListRow, other: ListRow) -> bool:
    """Whether no airframe has both."""
    a, b = serials_of(one), serials_of(other)
    return bool(a and b and not a & b)


def match_rows(
    rows: Sequence[ListRow],
    old_rows: Sequence[ListRow],
    ends: Mapping[str, Iterable[str]],
) -> Matches:
    """Match the rows of a list to those of a catalogue.

    By the id or the name of the equipment first. What is left is matched by its breaker: the id,
    else placard and position, else placard and bus, else position and bus.

    Parameters
    ----------
    rows, old_rows : the list's and the catalogue's.
    ends : by breaker in a feeder, the buses at the feeder's ends.
    """
    found = Matches()
    index = _Index(old_rows, ends)
    same_items = {n: items for n, row in enumerate(rows) if (items := _same_item(row, index))}
    for supply_of in (_supply_of, _only_supply_of):
        for n, items in same_items.items():
            if n not in found.same:
                _take(found, n, supply_of(rows[n], items, found.taken))
    found.other_supply = {n: i[0] for n, i in same_items.items() if n not in found.same}
    left = [n for n in range(len(rows)) if n not in same_items]
    left.sort(key=lambda n: "bus" not in rows[n].values)  # what says its bus chooses first
    for by_breaker in (_by_id, _by_place, _by_placard, _by_place_only):
        left = [
            n for n in left if not _match_breaker(found, n, rows[n], by_breaker(rows[n], index))
        ]
    for n in left:
        if not rows[n].has_item and (items := index.get("name", _item_name(rows[n]))):
            _take(found, n, _supply_of(rows[n], items, found.taken))
            if n not in found.same:
                found.other_supply[n] = items[0]
    return found


def _take(found: Matches, n: int, old: ListRow | None) -> None:
    if old is not None:
        found.same[n] = old
        found.taken.add(id(old))


def _match_breaker(found: Matches, n: int, row: ListRow, olds: Sequence[ListRow]) -> bool:
    """Whether it is clear what a row is about that may be about these."""
    olds = [old for old in olds if not apart(old, row)]
    olds = [old for old in olds if serials_of(old) == serials_of(row)] or olds
    free = [old for old in olds if id(old) not in found.taken]
    named = row.has_item
    if "id" in row.values:
        olds = [old for old in olds if old.supply]  # equipment is no breaker in a feeder
    if named and olds and olds[0].supply and olds[0].protector[:1] == ("devices",):
        found.on_breaker[n] = olds[0]  # a breaker that is written to be shared
        return True
    many = len({old.protector or old.supply for old in free}) > 1 or (named and len(free) > 1)
    if many and not serials_of(row) and all(apart(a, b) for a, b in combinations(free, 2)):
        found.same[n], *found.also[n] = free
        found.taken |= {id(old) for old in free}
    elif many:
        found.several[n] = free
    elif free and (not named or len(free) == len(olds)):
        _take(found, n, free[0])
        found.taken |= {id(old) for old in free}  # a breaker of several items has one row
        found.of_several |= {n} if len(free) > 1 else set()
    elif named and olds:
        found.on_breaker[n] = olds[0]
    else:
        return False
    return True


def _item_name(row: ListRow) -> str:
    return plain_name(row.item)


class _Index:
    """The rows of a catalogue by what a row of a list may have in common with them."""

    def __init__(self, old_rows: Iterable[ListRow], ends: Mapping[str, Iterable[str]]) -> None:
        self.by: dict[Hashable, list[ListRow]] = {}
        for row in old_rows:
            v = row.values
            keys: list[Hashable] = []
            if "breaker-id" in v:
                keys.append(("breaker-id", numbered(v["breaker-id"])))
            if "id" in v:
                keys += [("id", v["id"]), ("name", plain_name(v["name"]))]
            if "at" in v:
                keys.append(("at", v.get("panel"), v["at"]))
            buses = [v["bus"]] if "bus" in v else ends.get(v.get("breaker-id", ""), ())
            names = {bare_name(v[m]) for m in ("placard", "breaker-id") if m in v}
            keys += [("placard", name, bus) for name in names for bus in (None, *buses)]
            for key in keys:
                self.by.setdefault(key, []).append(row)

    def get(self, *key: Hashable) -> list[ListRow]:
        return self.by.get(key, [])


def _same_item(row: ListRow, index: _Index) -> list[ListRow]:
    """The rows of the catalogue's equipment that a row names."""
    v = row.values
    if "id" in v:
        same = index.get("id", v["id"])
    else:
        same = index.get("name", plain_name(v["name"])) if "name" in v else []
    if len({o.record for o in same}) > 1:
        same = [o for o in same if serials_of(o) == serials_of(row)] or same
    return same


def _by_id(row: ListRow, index: _Index) -> list[ListRow]:
    text = row.values.get("breaker-id")
    return index.get("breaker-id", numbered(text)) if text else []


def _by_place(row: ListRow, index: _Index) -> list[ListRow]:
    """The breakers with the row's placard at its position."""
    placard = bare_name(row.values.get("placard", ""))
    same = _at_place(row, index)
    return [old for old in same if bare_name(old.values.get("placard", "")) == placard]


def _by_place_only(row: ListRow, index: _Index) -> list[ListRow]:
    """The breakers at the row's position on its bus: one with another placard is a new label.

    Where the row names other equipment too, nothing is the same.
    """
    bus = row.values.get("bus")
    same = [] if row.has_item or bus is None else _at_place(row, index)
    return [old for old in same if old.values.get("bus") == bus]


def _at_place(row: ListRow, index: _Index) -> list[ListRow]:
    v = row.values
    return index.get("at", v.get("panel"), v["at"]) if "at" in v else []


def _by_placard(row: ListRow, index: _Index) -> list[ListRow]:
    """The breakers with the row's placard on its bus, or on any bus if the row has none.

    One that is elsewhere on a panel may have moved.
    """
    v = row.values
    same = index.get("placard", bare_name(v.get("placard", "")), v.get("bus"))
    if row.has_item:
        # Of other equipment it is another breaker, unless nothing says where it is.
        same = [old for old in same if "at" not in v or "at" not in old.values]
    return same


def numbered(breaker_id: str) -> str:
    """An id that nobody wrote changes with a second supply: `com-1.breaker`, `com-1.breaker-1`."""
    return f"{breaker_id}-1" if breaker_id.endswith((".breaker", ".fuse")) else breaker_id


def _supply_of(row: ListRow, items: Sequence[ListRow], taken: set[int]) -> ListRow | None:
    """The supply of an item that a row is about, by its breaker."""
    left = [old for old in items if id(old) not in taken]
    v = row.values
    for keys in (
        ("breaker-id", "bus", "supply-serials"),
        ("breaker-id",),
        ("panel", "at"),
        ("placard", "bus"),
        ("placard",),
    ):
        if keys[0] in v:
            for old in left:
                if all(numbered(v.get(k, "")) == numbered(old.values.get(k, "")) for k in keys):
                    return old
    return None


def _only_supply_of(row: ListRow, items: Sequence[ListRow], taken: set[int]) -> ListRow | None:
    """The supply of an item that a row is about, by its bus: the placard may have changed."""
    v = row.values
    if "breaker-id" not in v:
        for old in items:
            if (
                id(old) not in taken
                and old.values.get("bus") == v.get("bus")
                and ("placard" not in v or len(items) == 1)
            ):
                return old
    return None


def unmatched(
    rows: Sequence[ListRow],
    old_rows: Iterable[ListRow],
    matches: Matches,
    ends: Mapping[str, Iterable[str]],
) -> Iterator[ListRow]:
    """The rows of a catalogue that a list does not have, of the buses and airframes it names."""
    buses = {row.values.get("bus") for row in rows}
    everywhere = any(not serials_of(row) for row in rows)
    airframes = {airframe for row in rows for airframe in serials_of(row)}
    for old in old_rows:
        own_buses = ends.get(old.values.get("breaker-id", ""), ())
        own_buses = [old.values["bus"]] if "bus" in old.values else own_buses
        if (
            id(old) not in matches.taken
            and old.values.get("protection") in ("breaker", "fuse")  # a list has no links
            and buses & set(own_buses)
            and (everywhere or not serials_of(old) or serials_of(old) & airframes)
        ):
            yield old
