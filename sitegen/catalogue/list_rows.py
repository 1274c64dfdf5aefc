"""A table -> the rows of a breaker list, each value as the list of a catalogue has it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from sitegen.catalogue.breaker_list import PROTECTION, ListRow, check_of, filled, number_text
from sitegen.catalogue.characters import REFUSED
from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.list_columns import Columns
from sitegen.catalogue.list_names import KnownNames, plain_name, slug
from sitegen.catalogue.list_notes import RowNote
from sitegen.catalogue.model import ATA_PATTERN, gauge_number
from sitegen.catalogue.serials import (
    HIGHEST,
    Range,
    disjoint,
    joined,
    ranges_text,
    spoken_ranges,
)
from sitegen.catalogue.spreadsheet import Table
from sitegen.words import join_words, quoted

LONGEST_TEXT = 200
MOST_AMPS = 1_000_000
ALL = ("all", "all serials", "all airframes", "all aircraft")
TOTALS = ("total", "totals", "sum", "subtotal", "grand total")
NO_NAME = "no equipment and no breaker. Fill one in, or delete the row."
SPARE = ("spare", "not used", "unused", "blank", "empty", "vacant")


@dataclass
class RowsRead:
    """The rows below the headings, and what there is to say about them."""

    rows: list[ListRow] = field(default_factory=list)
    problems: list[RowNote] = field(default_factory=list)
    left_out: list[RowNote] = field(default_factory=list)
    guesses: list[RowNote] = field(default_factory=list)


def list_rows(table: Table, columns: Columns, known: KnownNames) -> RowsRead:
    """Read the rows below the headings."""
    read = RowsRead()
    odd = {(r, c): why for r, c, why in table.odd}
    bus = ""
    for r, cells in enumerate(table.rows[columns.heading_row + 1 :], columns.heading_row + 1):
        number = table.first_row + r
        values: dict[str, str] = {}
        wrong = False
        if r in columns.bus_rows:
            bus = columns.bus_rows[r]
            continue
        texts = dict(_texts(cells, columns))
        if columns.bus_rows:
            texts.pop("bus", None)
            texts |= {"bus": bus} if texts else {}
        names = [plain_name(texts[m]) for m in ("placard", "name", "id") if m in texts]
        if names and all(name in SPARE for name in names):
            note = "a spare breaker, which feeds nothing."
            read.left_out.append(RowNote(table.sheet, number, note))
            continue
        titles = names or [plain_name(texts.get("bus", ""))]
        if all(title in TOTALS for title in titles) and not (names and "rating" in texts):
            read.left_out.append(RowNote(table.sheet, number, "a total, and no breaker."))
            continue
        for meaning, text in texts.items():
            c = columns.of[meaning]
            letters = table.letters(c)
            if (r, c) in odd:
                problem = f"{quoted(text)} {odd[r, c]}."
            else:
                try:
                    values[meaning] = _value(meaning, text, known, number)
                    if meaning == "serials" and (outside := _outside(text, known)):
                        read.guesses.append(RowNote(table.sheet, number, outside, letters))
                    continue
                except ValueError as error:
                    problem = str(error)
            read.problems.append(RowNote(table.sheet, number, problem, letters))
            wrong = True
        if not values:
            continue
        row = ListRow(filled(values), table.sheet, number)
        if not row.has_name and "breaker-id" not in values:
            if "bus" not in values and not wrong:
                read.left_out.append(row.note("no equipment, breaker or bus; the row is left out."))
                continue
            if not wrong:
                read.problems.append(row.note(NO_NAME))
        elif "name" in columns.of and not row.has_item and "breaker-id" not in values:
            read.guesses.append(row.note("no equipment; it is named as the breaker."))
        read.rows.append(row)
    return read


def _texts(cells: Sequence[str], columns: Columns) -> Iterator[tuple[str, str]]:
    """By meaning, the texts of a row's cells that are filled."""
    for meaning, c in columns.of.items():
        text = " ".join(cells[c].split()) if c < len(cells) else ""
        if columns.joined and c == columns.of[columns.joined.column]:
            text = columns.joined.part(text, meaning)
        if text:
            yield meaning, text


def _value(meaning: str, text: str, known: KnownNames, row: int) -> str:
    """A cell's text as `rows_of` writes it; ValueError says what is wrong."""
    if meaning in ("bus", "panel"):
        found = known.id_of(meaning, text, row)
        if found is None:
            hint = did_you_mean(text, [*known.ids[meaning], *known.ids[meaning].values()])
            raise ValueError(
                f"the {meaning} {quoted(text)} is not in the catalogue."
                f" {hint or f'Add the {meaning} to the catalogue first.'}"
            )
        return found
    if meaning in ("serials", "supply-serials"):
        return _serials(text, known, row)
    if meaning == "rating":
        return _amps(text)
    if meaning == "drawn":
        parts = re.findall(r"([a-z0-9-]*[a-z][a-z0-9-]*) ([0-9.]+)(?:; ?|$)", text)
        if parts and "; ".join(f"{c} {a}" for c, a in parts) == text:
            return "; ".join(f"{c} {_amps(a, 0)}" for c, a in parts)
        return _amps(text, 0)
    if meaning == "ata":
        digits = re.fullmatch(r"(?:ATA[ -]?)?(\d\d)(?:[-. ]?(\d\d))?(?:[-. ]?(\d\d))?", text, re.I)
        made = "-".join(filter(None, digits.groups())) if digits else ""
        if not re.fullmatch(ATA_PATTERN, made):
            # A spreadsheet shows 33.40 and has kept the number 33.4.
            hint = " Make the cell text." if re.fullmatch(r"\d\d\.\d", text) else ""
            raise ValueError(
                f"{quoted(text)} is not an ATA chapter. Write 23, 23-12 or 23-12-01.{hint}"
            )
        return made
    if meaning == "wire":
        digits = re.fullmatch(r"(?:AWG|AN)?[ #-]*(0{1,4}|[1-9]\d?)(?:[ -]*(?:AWG|GA))?", text, re.I)
        try:
            gauge_number(digits[1] if digits and digits[1] in ("00", "000", "0000") else None)
            if digits is None:
                raise ValueError
            if not digits[1].startswith("00"):
                gauge_number(int(digits[1]))
        except ValueError:
            raise ValueError(f"{quoted(text)} is not a wire gauge. Write 20, or 00.") from None
        return digits[1]
    if meaning == "protection":
        made = slug(text).replace("circuit-breaker", "breaker").replace("cb", "breaker")
        if made not in PROTECTION:
            raise ValueError(f"{quoted(text)} is not known. Write breaker or fuse.")
        return made
    if meaning.endswith("checked"):
        text = _check_text(text)
    elif len(text) > LONGEST_TEXT:
        raise ValueError(f"the text is longer than {LONGEST_TEXT} characters. Shorten it.")
    if REFUSED.search(text):
        raise ValueError(f"{quoted(text)} holds a character that cannot be printed. Delete it.")
    if meaning == "id" and slug(text) != text:
        raise ValueError(
            f"{quoted(text)} is not a valid id. Write {quoted(slug(text) or 'com-1')}."
        )
    return text


def _check_text(text: str) -> str:
    made = check_of(text)
    if made is None:
        raise ValueError(
            f"{quoted(text)} does not say who checked, when and against what."
            " Write M. Kerr, 2026-11-20, Chart 24-31-01."
        )
    parts = [made["by"], made["on"].isoformat(), made.get("against", "")]
    if max(map(len, parts)) > LONGEST_TEXT:
        raise ValueError(f"a part is longer than {LONGEST_TEXT} characters. Shorten it.")
    return ", ".join(filter(None, parts))


def _serials(text: str, known: KnownNames, row: int) -> str:
    """The airframes that a cell names: by id, by name, or by serial numbers."""
    airframes = known.ids.setdefault("serials", {})
    if plain_name(text) in ALL and plain_name(text) not in airframes:
        return "" if known.grows else ", ".join(dict.fromkeys(airframes.values()))
    if plain_name(text) in airframes:
        return airframes[plain_name(text)]
    ids: list[str] = []
    numbers: list[Range] = []
    for word in re.split(r"\s*[,;]\s*", text):
        if plain_name(word) in airframes and not known.grows:
            ids.append(airframes[plain_name(word)])
            continue
        for part in spoken_ranges(word):
            if isinstance(part, tuple):
                numbers.append(part)
            else:
                ids += _named_airframes(part, known, row)
    if numbers and known.grows:
        of_cell = known.id_of("serials", ranges_text(joined(numbers)), row)
        assert of_cell is not None
        known.serials[of_cell] = joined(numbers)
        ids.append(of_cell)
    elif numbers:
        ids += _numbered_airframes(joined(numbers), known)
    return ", ".join(dict.fromkeys(ids))


def _named_airframes(text: str, known: KnownNames, row: int) -> list[str]:
    names = re.split(r"\s+(?:and|&)\s+", text)
    ids = [known.ids["serials"].get(plain_name(name)) for name in names]
    if all(ids):
        return [i for i in ids if i]
    made = known.id_of("serials", text, row) if known.grows else None
    if made is None:
        hint = did_you_mean(text, known.ids["serials"])
        raise ValueError(
            f"{quoted(text)} is not an airframe of the catalogue."
            f" {hint or 'Write airframes by id or name, or serials as 12, 12-18 or 12-.'}"
        )
    return [made]


def _numbered_airframes(wanted: list[Range], known: KnownNames) -> list[str]:
    """The airframes whose serial numbers are all among those wanted."""
    ids = []
    for airframe, has in known.serials.items():
        parts = disjoint({"wanted": wanted, "has": has})
        if frozenset(("wanted", "has")) not in parts:
            continue
        if frozenset(["has"]) in parts:
            raise ValueError(
                f"{quoted(ranges_text(wanted))} is only a part of the airframe {quoted(airframe)}"
                f" ({ranges_text(has)}). Correct the serials, or divide the airframe in the"
                " catalogue."
            )
        ids.append(airframe)
    if not ids:
        known_ids = join_words([quoted(i) for i in dict.fromkeys(known.ids["serials"].values())])
        raise ValueError(
            f"{quoted(ranges_text(wanted))}: no airframe of the catalogue has these `serials`."
            f" Write an airframe by id or name: {known_ids}."
        )
    return ids


def _outside(text: str, known: KnownNames) -> str:
    """What is said of serials that no airframe has; a range without an end may end anywhere."""
    if known.grows or plain_name(text) in known.ids["serials"]:
        return ""
    words = [w for w in re.split(r"\s*[,;]\s*", text) if plain_name(w) not in known.ids["serials"]]
    numbers = [p for word in words for p in spoken_ranges(word) if isinstance(p, tuple)]
    every = [r for has in known.serials.values() for r in has]
    parts = disjoint({"wanted": joined(numbers), "every": every})
    outside = [r for r in parts.get(frozenset(["wanted"]), ()) if r[1] < HIGHEST]
    return f"serials {ranges_text(outside)} are of no airframe of the catalogue." if outside else ""


def _amps(text: str, least: float | None = None) -> str:
    """A figure in amps; a comma before one or two digits is a decimal comma.

    >>> _amps("7,5 A"), _amps("7 1/2"), _amps("20.0"), _amps("500 mA")
    ('7.5', '7.5', '20', '0.5')
    """
    bare = re.sub(r"\s*(?:a|amps?|amperes?)\.?$", "", text, flags=re.IGNORECASE)
    bare = re.sub(r"\s*(?:½|(?<=\d) 1/2)$", ".5", bare)
    bare = re.sub(r"^(\d+),(\d{1,2})$", r"\1.\2", bare)
    if milliamps := re.fullmatch(r"(\d{1,6}) ?mA", text):
        bare = number_text(int(milliamps[1]) / 1000)
    if not re.fullmatch(r"\d{1,7}(\.\d{1,9})?", bare):
        raise ValueError(
            f"{quoted(text)} is not a figure in amps. Write only the figure, as in 7.5."
        )
    value = float(bare)
    if value > MOST_AMPS or (value <= 0 if least is None else value < least):
        raise ValueError(f"{quoted(text)}: amps are above 0 and at most {MOST_AMPS:,}.")
    return number_text(value)
