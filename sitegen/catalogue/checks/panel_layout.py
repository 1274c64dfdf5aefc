"""Rules about panels and the places of breakers on them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sitegen.catalogue.checks.context import Airframes, CheckContext, Path
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.catalogue.model import Panel
from sitegen.catalogue.panel_position import position
from sitegen.words import MOST_LISTED, counted, join_words, quoted, shortened


@dataclass(frozen=True)
class _OnPanel:
    """A device or a supply's own breaker, with its position."""

    words: str
    kind: str
    panel: str | None
    at: str | None
    path: Path
    fitted: Airframes
    placard: str


def _all(m: CheckContext) -> Iterator[_OnPanel]:
    for i, device in enumerate(m.catalogue.devices):
        words = f"{device.kind} {device.id}"
        path = ("devices", i)
        fitted = m.fitted(device)
        yield _OnPanel(words, device.kind, device.panel, device.at, path, fitted, device.name)
    for one in m.supplies:
        for own in one.own_protectors:
            panel, at = own.record.panel, own.record.at
            name = own.record.name
            yield _OnPanel(own.words, own.kind, panel, at, own.path, one.fitted, name)


def positions_are_on_their_panel(m: CheckContext) -> Iterator[Finding]:
    """A place names a row and a column that its panel has."""
    for item in _all(m):
        if item.at is None or item.panel is None:
            continue
        for panel in _panels(m, item.panel, item.fitted):
            problem = _off(item.at, panel)
            if problem:
                message = f"{item.words}: {problem[0]}"
                yield error(m.at((*item.path, "at")), message, problem[1])
                break


def _panels(m: CheckContext, name: str, airframes: Airframes) -> list[Panel]:
    """The panels of this id that share an airframe; several only where airframes differ."""
    return [
        entry.record
        for entry in m.spaces.get("panels", {}).get(name, [])
        if isinstance(entry.record, Panel) and entry.fitted & airframes
    ]


def _off(at: str, panel: Panel) -> tuple[str, str] | None:
    if position(at, panel.rows, panel.columns) is not None:
        return None
    rows = join_words([shortened(row) for row in panel.rows], most=MOST_LISTED)
    match = re.fullmatch(r"(.*?)([0-9]+)", at)
    if match is None:
        return (
            f"the place {quoted(at)} is not a row and a column.",
            f"Write the row and then the column: {shortened(panel.rows[0])}1.",
        )
    if match[1] in panel.rows:
        return (
            f"the panel {quoted(panel.id)} has no column {int(match[2][:9])}.",
            f"Its columns are 1 to {panel.columns}.",
        )
    return f"the panel {quoted(panel.id)} has no row {quoted(match[1])}.", f"Its rows are {rows}."


def positions_hold_one_breaker(m: CheckContext) -> Iterator[Finding]:
    """On an airframe, a place on a panel holds one breaker."""
    taken: dict[tuple[object, ...], _OnPanel] = {}
    for item in _all(m):
        if item.at is None or item.panel is None:
            continue
        for panel in _panels(m, item.panel, item.fitted)[:1]:
            where = position(item.at, panel.rows, panel.columns)
            if where is None:
                continue
            keys = [(item.panel, where, airframe) for airframe in sorted(item.fitted)]
            earlier = [taken.setdefault(key, item) for key in keys]
            other = next((o for o in earlier if o is not item), None)
            # A record that is defined twice is reported once, by its id.
            if other and (other.words != item.words or other.path[:2] == item.path[:2]):
                both = other.fitted & item.fitted
                yield error(
                    m.at((*item.path, "at")),
                    f"{item.words}: the place {quoted(item.at)} on panel {quoted(item.panel)} is "
                    f"taken{m.on(both)} by {other.words} ({m.at((*other.path, 'at'))}).",
                    "Fix one of the two places.",
                )


def placards_differ(m: CheckContext) -> Iterator[Finding]:
    """On an airframe, two breakers of one panel have different placards."""
    taken: dict[tuple[str, str, str], _OnPanel] = {}
    for item in _all(m):
        if item.panel is None or item.kind not in ("breaker", "fuse"):
            continue
        for airframe in sorted(item.fitted):
            other = taken.setdefault((item.panel, item.placard, airframe), item)
            # What is defined twice, or in one place with another, is reported as that.
            if other is not item and other.words != item.words and other.at != item.at:
                yield advice(
                    m.at((*item.path, "name")),
                    f"{item.words}: the placard {quoted(item.placard)} is on panel"
                    f" {quoted(item.panel)} twice{m.on(other.fitted & item.fitted)}; the other is"
                    f" {other.words} ({m.at((*other.path, 'name'))}).",
                    "Fix one of the two names. One breaker for several items is a record of its own"
                    " in `devices`, which their supplies name.",
                )
                break


def panel_and_position_go_together(m: CheckContext) -> Iterator[Finding]:
    """A position needs its panel; a panel without a position leaves a search in the hangar."""
    for item in _all(m):
        if item.at is not None and item.panel is None:
            yield error(
                m.key_at((*item.path, "at")),
                f"{item.words}: the place {quoted(item.at)} is on no panel.",
                "Write which `panel` it is on.",
            )
        if item.at is None and item.panel is not None:
            yield advice(
                m.key_at((*item.path, "panel")),
                f"{item.words}: it has a panel but no place on it.",
                "Write its row and column: at: B7.",
            )


def breakers_have_a_panel(m: CheckContext) -> Iterator[Finding]:
    """A person must be able to find a breaker; one finding for all that have no panel."""
    bare = [i for i in _all(m) if i.kind == "breaker" and i.panel is None and i.at is None]
    if bare:
        named = [item.words.removeprefix("breaker ") for item in bare]
        yield advice(
            m.at(bare[0].path),
            f"{counted(len(bare), 'breaker')} without a panel: {join_words(named, most=4)}.",
            "Write the `panel` each is on, and its place: at: B7.",
        )


def panel_rows_differ(m: CheckContext) -> Iterator[Finding]:
    """A panel's rows, like a switch's positions, have names that differ."""
    for i, panel in enumerate(m.catalogue.panels):
        for j in _repeated(panel.rows):
            message = f"panel {panel.id}: the row {quoted(panel.rows[j])} is defined twice."
            yield error(m.at(("panels", i, "rows", j)), message, "Delete one of the two.")
    for i, switch in enumerate(m.catalogue.switches):
        for j in _repeated(switch.positions):
            message = (
                f"switch {switch.id}: the position {quoted(switch.positions[j])} is defined twice."
            )
            yield error(m.at(("switches", i, "positions", j)), message, "Delete one of the two.")


def _repeated(words: Sequence[str]) -> list[int]:
    """The indices of words that occur earlier in the sequence."""
    firsts: dict[str, int] = {}
    return [i for i, word in enumerate(words) if firsts.setdefault(word, i) != i]
