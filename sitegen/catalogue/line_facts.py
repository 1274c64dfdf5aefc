"""What a line of the catalogue says, in plain words, for someone who compares it with a chart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sitegen.catalogue.model import (
    Airframe,
    AnyOf,
    Bus,
    Catalogue,
    Condition,
    Device,
    Equipment,
    Failure,
    Feeder,
    Function,
    Group,
    Indication,
    Length,
    Line,
    Panel,
    Protector,
    Source,
    Supply,
    Switch,
    Terms,
)
from sitegen.catalogue.panel_position import panel_and_position
from sitegen.catalogue.protector_ids import own_protectors
from sitegen.words import join_words


class Names(dict[str, str]):
    """By id the name of every record and breaker; an id without a record is its own name."""

    def __init__(self, catalogue: Catalogue) -> None:
        super().__init__(
            (record.id, record.name)
            for section in type(catalogue).model_fields
            if isinstance(getattr(catalogue, section), list)
            for record in getattr(catalogue, section)
            if hasattr(record, "name")
        )
        self.update((made, own.name) for _, _, own, made in own_protectors(catalogue))

    def __missing__(self, name: str) -> str:
        return name

    def list(self, ids: Iterable[str]) -> str:
        """The names of some records, with commas."""
        return ", ".join(self[i] for i in ids)

    def of_record(self, record: Line) -> str:
        """The name of a record; a feeder goes by its ends."""
        if isinstance(record, Feeder):
            return f"{self[record.from_]} to {self[record.to]}"
        return str(getattr(record, "name", ""))


def record_facts(record: Line, names: Names) -> str:
    """What a record says, without what is in its supplies."""
    return "; ".join(filter(None, _facts(record, names)))


def supply_facts(supply: Supply, names: Names) -> str:
    """What a supply says; its breaker is left out where it has been checked by itself."""
    facts = []
    for kind, written in (("breaker", supply.breaker), ("fuse", supply.fuse)):
        if isinstance(written, str):
            facts.append(f"{kind} {names[written]}, shared")
        elif isinstance(written, Protector) and not written.checked:
            facts.append(_joined(f"{kind} {written.name}", *_rating(written, names)))
        elif isinstance(written, Protector):
            facts.append(f"{kind} {written.name}: checked by itself")
    if supply.through:
        facts.append(f"through {names.list(supply.through)}")
    facts.append(_joined(*_conductor(supply.wire, supply.length)))
    if supply.amps is not None:
        facts.append(f"draws {_amps(supply.amps, names)} here")
    return "; ".join(filter(None, facts)) or "no breaker of its own"


def _facts(record: Line, names: Names) -> Iterable[str]:
    if isinstance(record, Source):
        ratings = [f"{record.volts:g} V {record.current.upper()}"]
        ratings += [f"{record.amps:g} A"] if record.amps else []
        ratings += [f"{record.amp_hours:g} Ah"] if record.amp_hours else []
        yield _joined(record.kind.replace("-", " "), *ratings)
        for feed in record.fed_from:
            through = [f"through {names.list(feed.through)}"] if feed.through else []
            conductor = _conductor(feed.wire, feed.length)
            yield _joined(f"fed from {names[feed.bus]}", *through, *conductor)
    elif isinstance(record, Bus):
        yield f"{record.current.upper()} bus"
    elif isinstance(record, Feeder):
        yield f"through {names.list(record.through)}" if record.through else "nothing in it"
        yield _joined(*_conductor(record.wire, record.length))
    elif isinstance(record, Device):
        yield _joined(record.kind.replace("-", " "), *_rating(record, names))
        yield "protective" if record.protective else ""
        yield {True: "rides through", False: "drops out", None: ""}[record.rides_through]
        if record.closes_when:
            yield f"closes when {_alternatives(record.closes_when, names)}"
    elif isinstance(record, Equipment):
        yield f"ATA {record.ata}"
        yield f"draws {_amps(record.amps, names)}" if record.amps is not None else ""
        yield "needs all of its supplies" if record.needs == "all" else ""
        for required in record.requires:
            several = isinstance(required, AnyOf)
            yield f"requires {'one of ' if several else ''}" + names.list(
                required.any if isinstance(required, AnyOf) else [required]
            )
    elif isinstance(record, Switch):
        yield f"positions {', '.join(record.positions)}"
        yield record.where or ""
    elif isinstance(record, Panel):
        yield f"{record.where}; rows {', '.join(record.rows)}; columns 1 to {record.columns}"
    elif isinstance(record, Indication):
        yield record.kind + (f" at {names[record.at]}" if record.at else "")
        yield f"lit when {_alternatives(record.lit_when, names)}" if record.lit_when else ""
    elif isinstance(record, Condition):
        yield f"on line {names.list(record.sources) or 'nothing'}"
        yield _settings(record.switches, names)
    elif isinstance(record, Function):
        yield f"{record.need} of {', '.join(_provider(p, names) for p in record.provided_by)}"
    elif isinstance(record, Failure):
        failed = (one.partition(":") for one in record.failed)
        yield f"failed {', '.join(f'{names[i]} {mode}'.strip() for i, _, mode in failed)}"
        for path, then in record.crew_fields:
            acts = [_settings(then.switches, names)]
            for word in ("shed", "pulled", "reset"):
                acts += [f"{word} {names.list(ids)}" for ids in [getattr(then, word)] if ids]
            words = _joined(*filter(None, acts))
            yield f"in {names[path[1]]}: {words or 'no acts'}" if path[1:] else words
    elif isinstance(record, Airframe):
        yield record.note


def _joined(*words: str) -> str:
    return ", ".join(words)


def _conductor(wire: int | None, length: Length | None) -> list[str]:
    words = []
    if wire is not None:
        words.append(f"wire {gauge_as_written(wire)}")
    if length is not None:
        words.append(length_as_written(length))
    return words


def gauge_as_written(wire: int) -> str:
    """A gauge as authors write it.

    >>> gauge_as_written(18), gauge_as_written(-1)
    ('18', '00')
    """
    return str(wire) if wire >= 0 else "0" * (1 - wire)


def length_as_written(length: Length) -> str:
    """A length in the unit in which it was written."""
    return f"{length.feet:g} ft" if length.feet else f"{length.metres:g} m"


def _rating(protector: Protector | Device, names: Names) -> list[str]:
    words = [f"{protector.amps:g} A"] if protector.amps else []
    place = panel_and_position(names[protector.panel] if protector.panel else None, protector.at)
    return [*words, place] if place else words


def _amps(amps: float | dict[str, float], names: Names) -> str:
    if isinstance(amps, dict):
        return ", ".join(f"{value:g} A ({names[column]})" for column, value in amps.items())
    return f"{amps:g} A"


def _alternatives(alternatives: Sequence[Terms], names: Names) -> str:
    return "; or ".join(" and ".join(_terms(terms, names)) or "always" for terms in alternatives)


def _terms(terms: Terms, names: Names) -> Iterable[str]:
    yield from (f"{names[switch]} is {position}" for switch, position in terms.switches.items())
    for word in ("live", "dead", "closed", "open"):
        yield from (f"{names[name]} is {word}" for name in getattr(terms, word))
    for side, limits in (("more", terms.volts_above), ("less", terms.volts_below)):
        yield from (f"{names[n]} shows {side} than {volts:g} V" for n, volts in limits.items())


def _settings(switches: dict[str, str], names: Names) -> str:
    return ", ".join(f"{names[switch]} {position}" for switch, position in switches.items())


def _provider(provider: str | Group, names: Names) -> str:
    if isinstance(provider, str):
        return names[provider]
    members = [_provider(one, names) for one in provider.any or provider.all or ()]
    return f"({f'{provider.need} of ' if provider.any else ''}{join_words(members)})"
