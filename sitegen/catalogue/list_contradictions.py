"""What the rows of one list lack and have in common, and where they contradict each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sitegen.catalogue.breaker_list import ListRow
from sitegen.catalogue.list_matching import apart
from sitegen.catalogue.list_meanings import MEANINGS
from sitegen.catalogue.list_names import plain_name
from sitegen.catalogue.list_notes import RowNote
from sitegen.words import quoted

MOST_COMPARED = 100
"""With how many of the rows before it that name the same breaker a row is compared."""
NO_PLACARD = "no breaker; a new one is named as the equipment."


def duplicates(rows: Iterable[ListRow]) -> list[RowNote]:
    """The rows that name one breaker and contradict each other, or say the same twice."""
    problems = []
    by_place: dict[tuple[str, ...], list[ListRow]] = {}
    for row in rows:
        v = row.values
        if "at" in v and "panel" in v:
            by_place.setdefault((v["panel"], v["at"]), []).append(row)
        elif "bus" in v:
            by_place.setdefault(("", v["bus"], row.breaker), []).append(row)
    for group in by_place.values():
        for index, row in enumerate(group):
            for before in group[max(index - MOST_COMPARED, 0) : index]:
                a, b = before.values, row.values
                if apart(before, row):
                    continue
                differ = [m for m in ("placard", "rating", "bus") if a.get(m) != b.get(m)]
                same_item = item_key(before) == item_key(row)
                if differ and "at" in a and "panel" in a:
                    names = " and ".join(MEANINGS[m].heading.lower() for m in differ)
                    problems.append(
                        row.note(
                            f"{before.place} has a breaker at {a['panel']} {a['at']} too, with"
                            f" another {names}. Correct one of the two."
                        )
                    )
                elif same_item and a.get("supply-serials") == b.get("supply-serials"):
                    problems.append(
                        row.note(f"this repeats {before.place}. Delete one of the two.")
                    )
                else:
                    continue
                break
    return problems


def incomplete(rows: Iterable[ListRow]) -> Iterator[RowNote]:
    """What the row of a new breaker cannot do without."""
    for row in rows:
        for meaning in ("bus", "rating"):
            if meaning not in row.values:
                yield row.note(f"{MEANINGS[meaning].heading.lower()} is empty. Fill it in.")


def without_placard(rows: Iterable[ListRow]) -> Iterator[RowNote]:
    """What is said of rows that do not name their breaker."""
    return (row.note(NO_PLACARD) for row in rows if "placard" not in row.values)


def item_key(row: ListRow) -> str:
    """What the rows of one item have in common: its id, or else its name."""
    return row.values.get("id") or plain_name(row.item)


def overlaps(rows: Sequence[ListRow]) -> Iterator[RowNote]:
    """Rows of one item for some of the same serials: it is fitted to all or to none of them."""
    groups: dict[str, list[ListRow]] = {}
    for first, *_ in by_item(rows).values():
        groups.setdefault(item_key(first), []).append(first)
    for group in groups.values():
        for index, row in enumerate(group[:MOST_COMPARED]):
            before = next((b for b in group[:index] if not apart(b, row)), None)
            if before is not None:
                yield row.note(
                    f"{quoted(row.item)} is in {before.place} too, for other serials of which some"
                    " are the same. Write the same serials, or give the two names of their own."
                )


def by_item(rows: Sequence[ListRow]) -> dict[tuple[str, str], list[ListRow]]:
    """The rows of each item, by what they have in common and the serials that have it."""
    items: dict[tuple[str, str], list[ListRow]] = {}
    for row in rows:
        items.setdefault((item_key(row), row.values.get("serials", "")), []).append(row)
    return items


def contradictions(rows: Sequence[ListRow]) -> Iterator[RowNote]:
    """Rows of one item that say of it what another row says otherwise."""
    for of_one in by_item(rows).values():
        for meaning, words in (
            ("name", "equipment"),
            ("drawn", "amps drawn"),
            ("ata", "the ATA chapter"),
        ):
            first, *others = [row for row in of_one if meaning in row.values] or of_one
            for row in others:
                if plain_name(row.values.get(meaning, "")) != plain_name(
                    first.values.get(meaning, "")
                ):
                    yield row.note(
                        f"{words} is {quoted(row.values[meaning])} here and"
                        f" {quoted(first.values[meaning])} in {first.place}, for the same item."
                        " Correct one of the two, or give the items names of their own."
                    )
