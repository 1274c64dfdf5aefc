"""Rules about ids: unique where they meet, known where they are mentioned, fitted where needed."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.material import (
    OWN,
    Airframes,
    Entry,
    Material,
    Mention,
    advice,
    error,
)
from sitegen.catalogue.findings import Finding, Place
from sitegen.catalogue.model import Device, Protector, Source, Switch, Terms
from sitegen.catalogue.wording import a, did_you_mean, listed, shown

MODES = {
    "source": ("lost",),
    "bus": ("dead", "shorted"),
    "contactor": ("open", "stuck-closed"),
    "relay": ("open", "stuck-closed"),
}
"""The modes in which each kind of component may fail; any other kind fails open."""


MOST_HINTS = 50
"""After so many unknown names, no likely ones are looked for."""


def ids_stand_once(m: Material) -> Iterator[Finding]:
    """An id stands once on an airframe within its space of names."""
    for by_id in m.spaces.values():
        for name, entries in by_id.items():
            for i, entry in enumerate(entries):
                for earlier in entries[:i]:
                    both = earlier.fitted & entry.fitted
                    if both:
                        yield _twice(m, name, entry, earlier, both)
                        break


def _twice(m: Material, name: str, entry: Entry, first: Entry, both: Airframes) -> Finding:
    field = ("id",) if entry.written else ()
    first_place = m.at((*first.path, "id") if first.written else first.path)
    return error(
        m.at((*entry.path, *field)),
        f"The id {shown(name)} stands twice{m.on(both)}: here for {a(_called(entry))}, "
        f"and at {first_place} for {a(_called(first))}.",
        "Give one of them another id, or fit the two to different airframes.",
    )


def equipment_and_indications_differ(m: Material) -> Iterator[Finding]:
    """Equipment and indications share no id, since their own breakers are named after them."""
    for name, entries in m.spaces.get("indications", {}).items():
        for entry in entries:
            for other in m.components(name):
                both = other.fitted & entry.fitted
                if other.kind == "equipment" and both:
                    yield _twice(m, name, entry, other, both)


def mentions_are_known(m: Material) -> Iterator[Finding]:
    """What a record names is there, and is of the kind that is wanted."""
    hints: dict[tuple[str, str, frozenset[str]], str] = {}

    def hint(mention: Mention) -> str:
        key = (mention.id, mention.space, mention.kinds)
        if key not in hints:
            few = len(hints) < MOST_HINTS
            hints[key] = did_you_mean(mention.id, _ids(m, mention)) if few else ""
        return hints[key]

    for mention in m.mentions:
        found = m.spaces.get(mention.space, {}).get(mention.id, [])
        if any(not mention.kinds or e.kind in mention.kinds for e in found):
            continue
        if not found and _may_be_hidden(m, mention.id):
            continue
        # `gen-1-switch` where a device is wanted: it is there, among other things.
        found = found or [e for by_id in m.spaces.values() for e in by_id.get(mention.id, [])]
        if found:
            message = f"{shown(mention.id)} is {a(_called(found[0]))}; {a(mention.noun)} is wanted."
        else:
            message = f"there is no {mention.noun} {shown(mention.id)}."
        yield error(_place(m, mention), f"{mention.owner}: {message}", hint(mention))


def mentions_are_fitted(m: Material) -> Iterator[Finding]:
    """What wiring names is fitted wherever the wiring itself is."""
    for mention in m.mentions:
        if not mention.wiring or mention.space == "airframes":
            continue
        found = m.spaces.get(mention.space, {}).get(mention.id, [])
        wanted = [e for e in found if not mention.kinds or e.kind in mention.kinds]
        if not wanted or _partly_hidden(m, mention.id):
            continue
        bare = mention.fitted.difference(*(e.fitted for e in wanted))
        if bare:
            yield error(
                _place(m, mention),
                f"{mention.owner}: the {_called(wanted[0])} {shown(mention.id)} is not fitted"
                f"{m.on(bare) or ' to any airframe'}, where {mention.owner} is.",
                "Mend the `fitted-to` of one of the two.",
            )


def mentions_stand_once(m: Material) -> Iterator[Finding]:
    """No list names the same thing twice."""
    seen: dict[tuple[object, ...], Mention] = {}
    for mention in m.mentions:
        if not isinstance(mention.path[-1], int):
            continue
        key = (*mention.path[:-1], "names", mention.id)
        if key in seen:
            yield error(
                _place(m, mention),
                f"{mention.owner}: {shown(mention.id)} stands twice in `{_list_name(mention)}`.",
                "Delete one of the two.",
            )
        seen[key] = mention


def failure_modes_are_known(m: Material) -> Iterator[Finding]:
    """A failed component fails in a mode that its kind has."""
    for i, failure in enumerate(m.catalogue.failures):
        for j, failed in enumerate(failure.failed):
            name, colon, mode = failed.partition(":")
            place = m.at(("failures", i, "failed", j))
            for entry in m.components(name)[:1]:
                modes = MODES.get(entry.kind, ("open",))
                if colon and mode not in modes and entry.kind != "equipment":
                    one = listed([shown(word) for word in modes], "or")
                    yield error(
                        place,
                        f"failure {failure.id}: {a(_called(entry))} does not fail as "
                        f"{shown(mode)}; it fails as {one}.",
                        did_you_mean(mode, modes),
                    )


def positions_are_known(m: Material) -> Iterator[Finding]:
    """A switch stands in a position that it has."""
    c = m.catalogue
    for i, device in enumerate(c.devices):
        path = ("devices", i, "closes-when")
        yield from _terms(m, device.closes_when, path, f"{device.kind} {device.id}")
    for i, indication in enumerate(c.indications):
        path = ("indications", i, "lit-when")
        yield from _terms(m, indication.lit_when, path, f"indication {indication.id}")
    for i, condition in enumerate(c.conditions):
        path = ("conditions", i, "switches")
        yield from _settings(m, condition.switches, path, f"condition {condition.id}")
    for i, failure in enumerate(c.failures):
        if failure.then:
            path = ("failures", i, "then")
            owner = f"failure {failure.id}"
            yield from _settings(m, failure.then.switches, (*path, "switches"), owner)


def _terms(
    m: Material, structures: list[Terms] | None, path: tuple[str | int, ...], owner: str
) -> Iterator[Finding]:
    for i, terms in enumerate(structures or ()):
        yield from _settings(m, terms.switches, (*path, i, "switches"), owner)


def _settings(
    m: Material, switches: dict[str, str], path: tuple[str | int, ...], owner: str
) -> Iterator[Finding]:
    for name, position in switches.items():
        for entry in m.spaces.get("switches", {}).get(name, []):
            assert isinstance(entry.record, Switch)
            positions = entry.record.positions
            if position not in positions:
                one = listed([shown(p) for p in positions], "or")
                yield error(
                    m.at((*path, name)),
                    f"{owner}: the switch {shown(name)} has no position {shown(position)}.",
                    did_you_mean(position, positions) or f"It has {one}.",
                )
                break


def names_differ(m: Material) -> Iterator[Finding]:
    """No two records of one section have the same name on one airframe."""
    for by_id in m.spaces.values():
        by_name: dict[tuple[object, str], list[Entry]] = {}
        for entries in by_id.values():
            for entry in entries:
                name = getattr(entry.record, "name", "")
                if not isinstance(entry.record, Protector):
                    by_name.setdefault((entry.path[0], name), []).append(entry)
        for (_, name), entries in by_name.items():
            for i, entry in enumerate(entries):
                for earlier in entries[:i]:
                    if earlier.id != entry.id and earlier.fitted & entry.fitted:
                        yield advice(
                            m.at((*entry.path, "name")),
                            f"{_called(entry)} {entry.id} has the name {shown(name)}, and so has "
                            f"{earlier.id}.",
                            "Give them names that a person can tell apart.",
                        )
                        break


def _place(m: Material, mention: Mention) -> Place:
    return m.key_at(mention.path) if mention.is_key else m.at(mention.path)


def _ids(m: Material, mention: Mention) -> list[str]:
    return [
        name
        for name, entries in m.spaces.get(mention.space, {}).items()
        if not mention.kinds or any(e.kind in mention.kinds for e in entries)
    ]


def _called(entry: Entry) -> str:
    """What a person calls a thing: `external-power source`, `supply's own breaker`."""
    if isinstance(entry.record, Source):
        return "source" if entry.record.kind != "converter" else "converter"
    if entry.kind in OWN:
        return f"supply's {entry.kind}"
    if isinstance(entry.record, Device) and entry.kind == "switch":
        return "switch device"
    if isinstance(entry.record, Switch):
        return "switch of the section `switches`"
    return entry.kind


def _list_name(mention: Mention) -> str:
    return next(str(step) for step in reversed(mention.path) if isinstance(step, str))


def _may_be_hidden(m: Material, name: str) -> bool:
    return m.hidden is None or _partly_hidden(m, name)


def _partly_hidden(m: Material, name: str) -> bool:
    """Whether the name may belong to a record that could not be understood."""
    if m.hidden is None:
        return True
    # With anything hidden, a breaker's made-up id may count supplies that were left out.
    return name in m.hidden or (bool(m.hidden) and "." in name)
