"""Rules about indications and functions, and about what nothing asks for."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.context import CheckContext, Path
from sitegen.catalogue.checks.wiring import devices_in_branches, not_of_kind, terms_say_something
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.catalogue.kinds import LOAD_METERS, METERS
from sitegen.catalogue.model import Equipment, Group, Source
from sitegen.words import counted, quoted


def indications_show_something(m: CheckContext) -> Iterator[Finding]:
    """A lamp or flag says when it shows; a meter says where it reads."""
    for i, indication in enumerate(m.catalogue.indications):
        path = ("indications", i)
        who = f"{indication.kind} {indication.id}"
        meter = indication.kind in METERS
        if meter and indication.at is None:
            yield error(
                m.at(path),
                f"{who}: nothing says where it reads.",
                "Write `at:` and the source, bus or device.",
            )
        if not meter and indication.lit_when is None:
            yield error(
                m.at(path),
                f"{who}: nothing says when it shows.",
                "Write lit-when: {open: [a contactor]}.",
            )
        yield from terms_say_something(m, indication.lit_when, (*path, "lit-when"), who, "lit")
        if meter and indication.lit_when is not None:
            yield not_of_kind(m, indication, (*path, "lit-when"))
        if not meter and indication.at is not None:
            yield not_of_kind(m, indication, (*path, "at"))


def meters_read_a_feeder(m: CheckContext) -> Iterator[Finding]:
    """A meter of current reads a source, or a device in a feeder."""
    in_branches = devices_in_branches(m)
    if any("through" in path for path in m.unknown):
        return  # it may be the one that is meant there
    for i, indication in enumerate(m.catalogue.indications):
        at = indication.at
        if indication.kind not in LOAD_METERS or at is None:
            continue
        if m.devices_of([at], m.fitted(indication)) and at not in in_branches:
            yield error(
                m.at(("indications", i, "at")),
                f"{indication.kind} {indication.id}: {quoted(at)} is in no feeder, so the meter "
                "would read nothing.",
                "Name a device in a feeder, or a source.",
            )


def loadmeters_have_a_rating(m: CheckContext) -> Iterator[Finding]:
    """A loadmeter shows percent of the rated amps of what it reads."""
    for i, indication in enumerate(m.catalogue.indications):
        if indication.kind != "loadmeter" or indication.at is None:
            continue
        for entry in m.components(indication.at)[:1]:
            if isinstance(entry.record, Source) and entry.record.amps is None:
                yield advice(
                    m.at(("indications", i, "at")),
                    f"loadmeter {indication.id}: {quoted(indication.at)} has no rated `amps`, so "
                    "there is nothing to show a percentage of.",
                    "Write them, or make it an ammeter.",
                )


def functions_have_enough_providers(m: CheckContext) -> Iterator[Finding]:
    """On every airframe a function has as many providers as it needs."""
    unknown = {path[:2] for path in m.unknown if path[0] == "functions"}
    for i, function in enumerate(m.catalogue.functions):
        if ("functions", i) in unknown:
            continue  # how many there are is unknown until that is fixed
        short: dict[int, list[str]] = {}
        for airframe in m.airframes:
            count = sum(_can_provide(m, one, airframe) for one in function.provided_by)
            if airframe in m.fitted(function) and count < function.need:
                short.setdefault(count, []).append(airframe)
        for count, airframes in short.items():
            yield error(
                m.at(("functions", i, "provided-by")),
                f"function {function.id} needs {function.need} and has "
                f"{counted(count, 'provider')}{m.on(airframes)}.",
                "Add providers, or fix `need` or `fitted-to`.",
            )


def _can_provide(m: CheckContext, provider: str | Group, airframe: str) -> bool:
    """Whether a provider is fitted; of a group, as many of its members as it needs."""
    if isinstance(provider, Group):
        members = [_can_provide(m, one, airframe) for one in provider.any or provider.all or ()]
        return all(members) if provider.all else sum(members) >= provider.need
    return any(
        airframe in m.may_be_fitted(entry.record)
        for entry in m.components(provider)
        if isinstance(entry.record, Equipment)
    )


def groups_have_enough_members(m: CheckContext) -> Iterator[Finding]:
    """A group of a function's providers has as many as it needs."""
    for i, function in enumerate(m.catalogue.functions):
        path: Path = ("functions", i, "provided-by")
        waiting = [((*path, j), one) for j, one in enumerate(function.provided_by)]
        while waiting:
            at, group = waiting.pop()
            if not isinstance(group, Group):
                continue
            word, members = ("any", group.any) if group.any else ("all", group.all or [])
            waiting += [((*at, word, j), one) for j, one in enumerate(members)]
            if group.any and group.need > len(members):
                yield error(
                    m.at((*at, "need")),
                    f"function {function.id}: a group needs {group.need} and has "
                    f"{counted(len(members), 'member')}.",
                    "Add members, or fix `need`.",
                )
            if group.all and "need" in group.model_fields_set:
                yield advice(
                    m.key_at((*at, "need")),
                    f"function {function.id}: `need` has no effect with `all`.",
                    "Delete it, or write `any`.",
                )


def independent_pairs_are_providers(m: CheckContext) -> Iterator[Finding]:
    """What is claimed to be independent provides the function."""
    doubtful = {path[1] for path in m.unknown if path[0] == "functions" and "provided-by" in path}
    for i, function in enumerate(m.catalogue.functions):
        if i in doubtful:
            continue  # one of them may be the provider that is meant
        providers = set(function.equipment)
        for j, pair in enumerate(function.independent):
            for k, name in enumerate(pair):
                path = ("functions", i, "independent", j, k)
                if name not in providers and path not in m.unknown:
                    yield error(
                        m.at(path),
                        f"function {function.id}: {quoted(name)} does not provide it.",
                        "Add it to `provided-by`, or fix the pair.",
                    )


def nothing_is_unused(m: CheckContext) -> Iterator[Finding]:
    """Every switch, panel and load column has some effect."""
    if m.unknown:
        return  # it may be the one that is meant there
    switches = {
        mention.id
        for mention in m.mentions
        if mention.space == "switches" and mention.path[0] in ("devices", "indications")
    }
    panels = {mention.id for mention in m.mentions if mention.space == "panels"}
    columns = {
        mention.id
        for mention in m.mentions
        if mention.space == "load-columns" and mention.path[0] != "equipment"
    }
    for i, switch in enumerate(m.catalogue.switches):
        if switch.id not in switches:
            yield advice(
                m.at(("switches", i)),
                f"switch {switch.id}: nothing depends on its position.",
                "Name it in a `closes-when`, or delete it.",
            )
    for i, panel in enumerate(m.catalogue.panels):
        if panel.id not in panels:
            yield advice(
                m.at(("panels", i)), f"panel {panel.id}: nothing is on it.", "Delete it if so."
            )
    for i, column in enumerate(m.catalogue.load_columns):
        if column.id not in columns:
            yield advice(
                m.at(("load-columns", i)),
                f"load column {column.id}: no condition and no battery time uses it.",
                "Write `loads:` in a condition, or delete the column.",
            )
