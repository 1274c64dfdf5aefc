"""Rules about ids: unique where they meet, known where they are mentioned, fitted where needed."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.context import OWN, Airframes, CheckContext, Entry, Mention
from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.findings import Finding, Place, advice, error
from sitegen.catalogue.kinds import mode_meant
from sitegen.catalogue.model import Device, Fitted, Protector, Source, Switch
from sitegen.catalogue.serials import ranges, shared_serials
from sitegen.words import MOST_LISTED, join_words, quoted, with_article

NO_FOLDERS = frozenset({"con", "prn", "aux", "nul"}) | {
    f"{port}{number}" for port in ("com", "lpt") for number in range(10)
}
"""Names that Windows keeps for itself (Microsoft: Naming Files, Paths, and Namespaces)."""

MOST_COMPARED = 50_000
"""How many names are compared for suggestions in one check."""
MOST_POSITIONS = 200
"""How many positions of a switch are compared for a suggestion."""
FEW = 6
"""Up to this many names are listed where none is similar."""


def ids_are_unique(m: CheckContext) -> Iterator[Finding]:
    """An id is unique on an airframe within its space of names."""
    for by_id in m.spaces.values():
        for name, entries in by_id.items():
            for i, entry in enumerate(entries):
                for earlier in entries[:i]:
                    both = earlier.fitted & entry.fitted
                    # Made-up ids are the same only where those of their owners are.
                    if both and (entry.written or earlier.written):
                        yield _duplicate(m, name, entry, earlier, both)
                        break


def _duplicate(m: CheckContext, name: str, entry: Entry, first: Entry, both: Airframes) -> Finding:
    field = ("id",) if entry.written else ()
    first_place = m.at((*first.path, "id") if first.written else first.path)
    what, other = _called(entry), _called(first)
    where = (
        f"The id {quoted(name)} of {with_article(what)} is defined twice{m.on(both)}; "
        f"first at {first_place}."
        if what == other
        else f"The id {quoted(name)} is defined twice{m.on(both)}: here for {with_article(what)}, "
        f"and at {first_place} for {with_article(other)}."
    )
    hint = "Give one of them another id, or fit the two to different airframes."
    if entry.path[0] in ("airframes", "load-columns"):
        hint = "Give one of them another id, or delete it."
    return error(m.at((*entry.path, *field)), where, hint)


def serials_are_on_one_airframe(m: CheckContext) -> Iterator[Finding]:
    """A serial number leads to one airframe."""
    with_serials = [
        (i, a, ranges(a.serials)) for i, a in enumerate(m.catalogue.airframes) if a.serials
    ]
    for k, (i, airframe, serials) in enumerate(with_serials):
        for _, earlier, others in with_serials[:k]:
            both = shared_serials(serials, others)
            if both:
                yield error(
                    m.at(("airframes", i, "serials")),
                    f"Serial {both[0]} is on {quoted(airframe.name)} and {quoted(earlier.name)}.",
                    "Give each serial number to one airframe.",
                )


def equipment_and_indications_differ(m: CheckContext) -> Iterator[Finding]:
    """Equipment and indications share no id, since their own breakers are named after them."""
    for name, entries in m.spaces.get("indications", {}).items():
        for entry in entries:
            for other in m.components(name):
                both = other.fitted & entry.fitted
                if other.kind == "equipment" and both:
                    yield _duplicate(m, name, entry, other, both)
                    break


def mentions_are_known(m: CheckContext) -> Iterator[Finding]:
    """What a record names is there, and is of the kind that is wanted."""
    hints: dict[tuple[str, str, frozenset[str]], str] = {}
    known: dict[tuple[str, frozenset[str]], list[str]] = {}
    compared = 0
    for mention in m.mentions:
        if mention.path not in m.unknown:
            continue
        entries = m.spaces.get(mention.space, {}).get(mention.id, [])
        if not entries and m.unread.may_be(mention.id):
            continue
        kinds = (mention.space, mention.kinds)
        if kinds not in known:
            known[kinds] = _ids(m, mention)
        names = known[kinds]
        key = (mention.id, mention.space, mention.kinds)
        if key not in hints:
            compared += len(names)
            hints[key] = _meant(mention.id, names) if compared <= MOST_COMPARED else ""
        # `gen-1-switch` where a device is wanted: it is there, among other things.
        entries = entries or [
            e for by_id in m.spaces.values() for e in by_id.get(mention.id, [])[:1]
        ]
        if entries:
            is_a, wanted = with_article(_called(entries[0])), with_article(mention.noun)
            message = f"{quoted(mention.id)} is {is_a}; {wanted} is wanted."
        else:
            message = f"there is no {mention.noun} {quoted(mention.id)}."
        yield error(_place(m, mention), f"{mention.owner}: {message}", hints[key])


def _meant(name: str, names: list[str]) -> str:
    hint = did_you_mean(name, names)
    if hint or not 0 < len(names) <= FEW:
        return hint
    there = join_words([quoted(n) for n in names], "or")
    return f"It can be {there}."


def mentions_are_fitted(m: CheckContext) -> Iterator[Finding]:
    """What wiring names is fitted wherever the wiring itself is."""
    covered: dict[tuple[str, str, frozenset[str]], Airframes] = {}
    for mention in m.mentions:
        if not mention.wiring or mention.space == "airframes" or mention.path in m.unknown:
            continue
        key = (mention.space, mention.id, mention.kinds)
        if key not in covered:
            covered[key] = frozenset[str]().union(*(_may_be(m, e) for e in _wanted(m, mention)))
        bare = mention.fitted - covered[key]
        if bare and not m.unread.may_be(mention.id):
            yield error(
                _place(m, mention),
                f"{mention.owner}: the {_called(_wanted(m, mention)[0])} {quoted(mention.id)} is "
                f"not fitted{m.on(bare) or ' to any airframe'}, where {mention.owner} is.",
                "Fix the `fitted-to` of one of the two.",
            )


def _wanted(m: CheckContext, mention: Mention) -> list[Entry]:
    entries = m.spaces.get(mention.space, {}).get(mention.id, [])
    return [e for e in entries if not mention.kinds or e.kind in mention.kinds]


def _may_be(m: CheckContext, entry: Entry) -> Airframes:
    return m.may_be_fitted(entry.record) if isinstance(entry.record, Fitted) else entry.fitted


def lists_name_each_once(m: CheckContext) -> Iterator[Finding]:
    """No list names the same thing twice."""
    seen: dict[tuple[object, ...], Mention] = {}
    for mention in m.mentions:
        if not isinstance(mention.path[-1], int):
            continue
        key = (*mention.path[:-1], "names", mention.id)
        if key in seen:
            yield error(
                _place(m, mention),
                f"{mention.owner}: {quoted(mention.id)} is listed twice in "
                f"`{_list_name(mention)}`.",
                "Delete one of the two.",
            )
        seen[key] = mention


def failure_modes_are_known(m: CheckContext) -> Iterator[Finding]:
    """A failed component fails in a mode that its kind has."""
    for i, failure in enumerate(m.catalogue.failures):
        for j, failed in enumerate(failure.failed):
            name, colon, mode = failed.partition(":")
            place = m.at(("failures", i, "failed", j))
            for entry in m.components(name) if colon else ():
                modes = entry.modes
                here = entry.fitted & m.fitted(failure)
                if here and modes and mode not in modes:
                    one = join_words([quoted(word) for word in modes], "or")
                    what = (
                        f"{with_article(_called(entry))} does not fail as {quoted(mode)}; it"
                        if mode
                        else f"there is no mode after the colon; {with_article(_called(entry))}"
                    )
                    yield error(
                        place,
                        f"failure {failure.id}: {what} fails as {one}.",
                        did_you_mean(mode_meant(mode), modes),
                    )
                    break


def positions_are_known(m: CheckContext) -> Iterator[Finding]:
    """A switch is set to a position that it has."""
    for mention in m.mentions:
        switches = m.spaces.get("switches", {}) if mention.space == "switches" else {}
        for entry in switches.get(mention.id, []):
            assert isinstance(entry.record, Switch)
            name, position, positions = mention.id, mention.value, entry.record.positions
            if position not in positions:
                one = join_words([quoted(p) for p in positions], "or", MOST_LISTED)
                yield error(
                    m.at(mention.path),
                    f"{mention.owner}: the switch {quoted(name)} has no position "
                    f"{quoted(position)}.",
                    did_you_mean(position, positions[:MOST_POSITIONS]) or f"It has {one}.",
                )
                break


def names_differ(m: CheckContext) -> Iterator[Finding]:
    """No two records of one section have the same name on one airframe."""
    for by_id in m.spaces.values():
        firsts: dict[tuple[object, str, str], Entry] = {}
        for entry in (e for entries in by_id.values() for e in entries):
            if isinstance(entry.record, Protector):
                continue
            name = getattr(entry.record, "name", "")
            keys = [(entry.path[0], name, airframe) for airframe in sorted(entry.fitted)]
            earlier = [firsts.setdefault(key, entry) for key in keys]
            other = next((e for e in earlier if e.id != entry.id), None)
            if other is not None:
                yield advice(
                    m.at((*entry.path, "name")),
                    f"{_called(entry)} {entry.id} has the name {quoted(name)}, and so has "
                    f"{other.id}.",
                    "Give them names that a person can distinguish.",
                )


def airframes_can_name_a_folder(m: CheckContext) -> Iterator[Finding]:
    """The site has a folder for each airframe, which every file system must accept."""
    for i, airframe in enumerate(m.catalogue.airframes):
        if airframe.id in NO_FOLDERS:
            yield error(
                m.at(("airframes", i, "id")),
                f"airframe {airframe.id}: Windows has no folder of this name, and the site needs "
                "one.",
                "Give it another id.",
            )


def _place(m: CheckContext, mention: Mention) -> Place:
    return m.key_at(mention.path) if mention.is_key else m.at(mention.path)


def _ids(m: CheckContext, mention: Mention) -> list[str]:
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
