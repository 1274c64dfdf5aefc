"""Amps and overload by the plain solver: one scenario at a time, every simple path gone through.

Like `plain.py` it shares nothing with the package.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from copy import copy
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from itertools import product

from tests.plain import Raw, Scenario, _feeds, _millivolts, _span, after_crew, compare

Flow = tuple[str, str, Fraction | None]
"""What a source gives at a node, A; None is not known."""
BREAKER = {"may": 1.15, "must": 1.38}


def overload_answer(
    before: Scenario, failure: Scenario, then: Raw | None = None
) -> tuple[dict[str, str], Raw]:
    """What is overloaded in answer 1, and answer 3."""
    first = failure if then is None else after_crew(before, failure, then)
    opened = _opened(before, failure)
    if then is not None:
        opened = _opened(before, after_crew(before, opened, then))
    return overloaded(before, first), compare(before, opened)


def overloaded(before: Scenario, after: Scenario) -> dict[str, str]:
    """By device: must or may it open; not what is the same or worse with nothing failed."""
    normally = _words(before)
    return {
        device: word
        for device, word in _words(after).items()
        if normally.get(device) not in ("must", word)
    }


class _Followed(Scenario):
    """A scenario in which amps follow other volts than those that decide who carries what."""

    followed: dict[str, int]


def _volts(scenario: Scenario, node: str) -> int:
    """What the amps at a node follow, mV."""
    if isinstance(scenario, _Followed):
        return scenario.followed[node]
    return scenario.millivolts(node)


def anywhere_in_range(scenario: Scenario) -> Iterator[Scenario]:
    """A healthy aircraft, each source anywhere in its range: of that, what is looked at.

    Nominal; and, for who carries what, each source that produces and has a range at either end of
    it; of more than four all at the bottom; all at the top; each one at its top and the others at
    the bottom; each one at its bottom and the others at the top. In each, amps follow the volts of
    those that carry, at both ends, converters at the same or at the other. A source that shares
    has ends too where one of those has no rating: it carries what they share, or nothing of it.
    """
    ranged = [s for s in scenario.reached if "volts-range" in scenario.sources[s]]
    nodes = (*scenario.sources, *scenario.buses)
    sharing = {s for n in nodes for s in _in_any_way(scenario, [*_carriers(scenario, n)])}
    ranged += [s for s in scenario.reached if s in sharing and s not in ranged]
    yield scenario
    apart = [
        {s: end if s == one else 1 - end for s in ranged}
        for one in (None, *ranged)
        for end in (0, 1)
    ]
    if len(ranged) <= 4:
        each = product((0, 1), repeat=len(ranged))
        apart = [dict(zip(ranged, ends, strict=True)) for ends in each]
    divided = [scenario, *(_with_ends(scenario, ends) for ends in apart)]
    for moved in divided:
        for end, of_converters in product((0, 1), repeat=2):
            kinds = {s: scenario.sources[s]["kind"] == "converter" for s in ranged}
            at_end = _with_ends(scenario, {s: of_converters if kinds[s] else end for s in ranged})
            found = copy(moved)
            found.fed = scenario.fed  # type: ignore[method-assign]
            found.__class__ = _Followed
            assert isinstance(found, _Followed)
            found.followed = {
                node: max((at_end.reached[s][node] for s in _carriers(moved, node)), default=0)
                for node in (*scenario.sources, *scenario.buses)
            }
            found.followed = {node: max(0, volts) for node, volts in found.followed.items()}
            yield found


def _with_ends(scenario: Scenario, ends: dict[str, int]) -> Scenario:
    """No device moves, and the supplies that are live stay so: equipment has the volts it needs."""
    moved = copy(scenario)
    moved.fed = scenario.fed  # type: ignore[method-assign]
    moved.reached = {source: dict(nodes) for source, nodes in scenario.reached.items()}
    moved.at_top = {source for source, end in ends.items() if end}  # type: ignore[attr-defined]
    for source, end in ends.items():
        record = scenario.sources[source]
        if "volts-range" not in record:
            continue
        more = _millivolts(_span(record)[end]) - _millivolts(record["volts"])
        for node in moved.reached[source]:
            moved.reached[source][node] += more
    return moved


def _opened(before: Scenario, after: Scenario) -> Scenario:
    after = copy(after)
    after.steps = list(after.steps)
    normally = _words(before)
    while True:
        ratios = {
            device: max(_hundredth(least) / must for least, _, _, must in poles)
            for device, poles in _bounds(after).items()
            if normally.get(device) != "must"
        }
        ratios = {device: ratio for device, ratio in ratios.items() if ratio >= 1}
        if not ratios:
            return after
        worst = max(ratios.values())
        after.opened = after.opened | {d for d, r in ratios.items() if 1000 * r >= 999 * worst}
        after.loop()


def _words(scenario: Scenario) -> dict[str, str]:
    words = {}
    for device, poles in _bounds(scenario).items():
        for least, most, may, must in poles:
            if _hundredth(least) >= must:
                words[device] = "must"
            elif _hundredth(least if most is None else most) >= may:
                words.setdefault(device, "may")
    return words


def _bounds(
    scenario: Scenario,
) -> dict[str, list[tuple[Fraction, Fraction | None, Fraction, Fraction]]]:
    """By device that can open, of each pole: least, most, and the limits of may and must, A."""
    flows = list(_flows(scenario))
    feeders = scenario.conducting_feeders()
    found: dict[str, list[tuple[Fraction, Fraction | None, Fraction, Fraction]]] = {}
    for number, feeder in enumerate(feeders):
        for device in feeder.get("through", []):
            record = scenario.devices[device]
            opens_at = record.get("opens-at", BREAKER if record["kind"] == "breaker" else None)
            if opens_at is None or not record.get("amps"):
                continue
            if (device, "stuck-closed") in scenario.failed:
                continue
            opens_at = {**BREAKER, **opens_at}
            least, most = _through(scenario, feeders, number, flows)
            may, must = (
                _hundredth(_exact(record["amps"]) * _exact(opens_at[key]))
                for key in ("may", "must")
            )
            found.setdefault(device, []).append((least, most, may, must))
    return found


def _through(
    scenario: Scenario, feeders: list[Raw], number: int, flows: list[Flow]
) -> tuple[Fraction, Fraction | None]:
    low = high = Fraction()
    from_known = {True: False, False: False}
    for source, node, amps in flows:
        paths = _that_carry(scenario, feeders, _paths(scenario, feeders, source, node))
        uses = [dict(path).get(number) for path in paths]
        along, against = True in uses, False in uses
        every = None not in uses
        if amps is None:
            from_known[True] |= along
            from_known[False] |= against
            continue
        high += amps if along else 0
        low += amps if along and every else 0
        low -= amps if against else 0
        high -= amps if against and every else 0
    least = max(
        Fraction(),
        Fraction() if from_known[False] else low,
        Fraction() if from_known[True] else -high,
    )
    return least, None if any(from_known.values()) else max(high, -low)


def _that_carry(
    scenario: Scenario, feeders: list[Raw], paths: Iterable[list[tuple[int, bool]]]
) -> list[list[tuple[int, bool]]]:
    """Those whose diodes drop no more than half a volt more than those of the one that drops least.

    At the end of any other the node has more volts already.
    """
    paths = list(paths)
    drops = [
        sum(
            _millivolts(scenario.devices[d].get("drop-volts", 0.7))
            for number, _ in path
            for d in scenario.diodes(feeders[number])
        )
        for path in paths
    ]
    least = min(drops, default=0)
    return [path for path, drop in zip(paths, drops, strict=True) if drop - least <= 500]


def _paths(
    scenario: Scenario, feeders: list[Raw], start: str, end: str
) -> Iterator[list[tuple[int, bool]]]:
    """Every path that visits no node twice, as (number of a feeder, along it)."""
    nowhere = scenario.dead() | scenario.no_volts

    def extend(node: str, seen: set[str]) -> Iterator[list[tuple[int, bool]]]:
        if node == end:
            yield []
            return
        for number, feeder in enumerate(feeders):
            for origin, target, along in (
                (feeder["from"], feeder["to"], True),
                (feeder["to"], feeder["from"], False),
            ):
                if not along and scenario.diodes(feeder):
                    continue
                if origin == node and target not in seen and target not in nowhere:
                    for rest in extend(target, {*seen, target}):
                        yield [(number, along), *rest]

    return extend(start, {start})


def _flows(scenario: Scenario) -> Iterator[Flow]:
    """What every source gives at every node."""
    for node, amps in _drawn(scenario):
        yield from _from_sources(scenario, node, amps)
    for node in _not_shared(scenario):
        for source in scenario.reached:
            if node not in scenario.reached[source]:
                continue
            yield source, node, None
            if scenario.sources[source]["kind"] == "converter":
                for origin, _ in _inputs(scenario, source):
                    yield from _from_sources(scenario, origin, None)


def _not_shared(scenario: Scenario) -> set[str]:
    """The nodes of which nothing says who carries them: AC sources conflict there, or a converter
    carries its own input.
    """
    found = set(scenario.conflicts())
    for converter in scenario.reached:
        if scenario.sources[converter]["kind"] == "converter" and _is_circular(scenario, converter):
            found |= {
                feed["bus"]
                for feed in _feeds(scenario.sources[converter])
                if scenario.feeds_converter(feed)
            }
    return found


def _from_sources(scenario: Scenario, node: str, amps: Fraction | None) -> Iterator[Flow]:
    if node in _not_shared(scenario):
        return
    for source, part in _carriers(scenario, node).items():
        yield source, node, None if amps is None else amps * part
        record = scenario.sources[source]
        if record["kind"] == "converter" and not _is_circular(scenario, source):
            for origin, share in _inputs(scenario, source):
                taken = part * share * _for_one(scenario, source, origin)
                yield from _from_sources(scenario, origin, None if amps is None else amps * taken)


def _carriers(scenario: Scenario, node: str) -> dict[str, Fraction]:
    offered = {s: max(0, nodes[node]) for s, nodes in scenario.reached.items() if node in nodes}
    if not offered:
        return {}
    carrying = [s for s, volts in offered.items() if max(offered.values()) - volts <= 500]
    # What shares with a battery does not charge it.
    at_top = set() if node in carrying else getattr(scenario, "at_top", set[str]())
    carrying = [s for s in _in_any_way(scenario, carrying) if s in at_top] or carrying
    ratings = [scenario.sources[s].get("amps") for s in carrying]
    weights = [_exact(r) if all(ratings) else Fraction(1) for r in ratings]
    total = sum(weights, Fraction())
    return {s: weight / total for s, weight in zip(carrying, weights, strict=True)}


def _in_any_way(scenario: Scenario, sharing: list[str]) -> list[str]:
    """Those that share, if one of them has no rating or does not reach the terminals of another:
    then any of them may carry it all.
    """
    rated = all(scenario.sources[s].get("amps") for s in sharing)
    joined = all(t in scenario.reached[s] for s in sharing for t in sharing)
    return sharing if len(sharing) > 1 and not (rated and joined) else []


def _inputs(scenario: Scenario, converter: str) -> list[tuple[str, Fraction]]:
    return _highest(scenario, _origins(scenario, converter), converter)


def _feed_drops(scenario: Scenario, converter: str) -> list[tuple[str, int]]:
    """(node, drop of the sound diodes in mV) of the live feeds of a converter's input."""
    return [
        (
            feed["bus"],
            sum(
                _millivolts(scenario.devices[d].get("drop-volts", 0.7))
                for d in scenario.diodes(feed)
            ),
        )
        for feed in _feeds(scenario.sources[converter])
        if scenario.feeds_converter(feed)
    ]


def _feed_drop(scenario: Scenario, converter: str, node: str) -> int:
    return min((d for n, d in _feed_drops(scenario, converter) if n == node), default=0)


def _origins(scenario: Scenario, converter: str) -> list[str]:
    """The nodes of its feeds; of several from one node not those that drop too much."""
    return [
        node
        for node, drop in _feed_drops(scenario, converter)
        if drop - _feed_drop(scenario, converter, node) <= 500
    ]


def _left(scenario: Scenario, node: str, converter: str = "") -> int:
    """What a node leaves for a converter, or shows."""
    drop = _feed_drop(scenario, converter, node) if converter else 0
    return max(0, scenario.millivolts(node) - drop)


def _volts_left(scenario: Scenario, node: str, converter: str) -> int:
    return max(0, _volts(scenario, node) - _feed_drop(scenario, converter, node))


def _highest(
    scenario: Scenario, nodes: list[str], converter: str = ""
) -> list[tuple[str, Fraction]]:
    most = max((_left(scenario, n, converter) for n in nodes), default=0)
    chosen = [n for n in nodes if _left(scenario, n, converter) == most]
    return [(n, Fraction(1, len(chosen))) for n in chosen]


def any_division(
    scenario: Scenario,
) -> Iterator[tuple[list[tuple[str, Fraction]], list[tuple[str, Fraction]]]]:
    """Of equipment that may draw from several nodes: (what it draws, what from each if all there).

    Those that show no more than half a volt less than the highest; of what needs all its supplies,
    every one.
    """
    for item in scenario.sections["equipment"]:
        drawn = [*_drawn_by(scenario, item)]
        buses = list(dict.fromkeys(scenario.live_supplies(item["id"])))
        if any(amps is None for _, amps in drawn) or not drawn or _has_own_amps(scenario, item):
            continue
        if item.get("needs") != "all":
            buses = _near(scenario, buses)
        everything = _figure(scenario, item.get("amps"))
        each = [(b, _following(scenario, item, b, everything)) for b in buses]
        known = [(b, amps) for b, amps in each if amps is not None]
        if len(known) > 1:
            yield [(b, amps) for b, amps in drawn if amps is not None], known


def any_input(scenario: Scenario, converter: str) -> list[str]:
    """The nodes from any of which a converter may take all; none where there is one."""
    feeds = [n for n in _origins(scenario, converter) if converter not in _behind(scenario, n)]
    near = _near(scenario, list(dict.fromkeys(feeds)), converter)
    near = [n for n in near if _volts_left(scenario, n, converter)]
    return near if len(near) > 1 else []


def _behind(scenario: Scenario, node: str) -> set[str]:
    """The sources from which a node has its power, through converters too."""
    found: set[str] = set()
    nodes = [node]
    while nodes:
        more = {*_carriers(scenario, nodes.pop())} - found
        found |= more
        for source in more:
            if scenario.sources[source]["kind"] == "converter":
                inputs = _inputs(scenario, source)
                nodes += [n for n, _ in inputs if _volts_left(scenario, n, source)]
    return found


def _near(scenario: Scenario, nodes: list[str], converter: str = "") -> list[str]:
    most = max((_left(scenario, n, converter) for n in nodes), default=0)
    return [n for n in nodes if most - _left(scenario, n, converter) <= 500]


def _for_one(scenario: Scenario, converter: str, origin: str) -> Fraction:
    """What a converter takes at a node while it gives one ampere, all of it from there."""
    record = scenario.sources[converter]
    alone = [*_carriers(scenario, converter)] == [converter]
    output = _volts(scenario, converter) if alone else _millivolts(record["volts"])
    left = _volts_left(scenario, origin, converter)
    return output / (_exact(record.get("efficiency", 0.8)) * left)


def _is_circular(scenario: Scenario, converter: str) -> bool:
    """Whether it carries its own input, or that has no volts left: then nothing follows."""

    def upstream(of: str) -> set[str]:
        nodes = [node for node, _ in _inputs(scenario, of) if _volts_left(scenario, node, of)]
        return {source for node in nodes for source in _carriers(scenario, node)}

    found: set[str] = set()
    more = upstream(converter)
    if not more:
        return True
    while more - found:
        found |= more
        converters = {s for s in found if scenario.sources[s]["kind"] == "converter"}
        more = set().union(*map(upstream, converters))
    return converter in found


def _drawn(scenario: Scenario) -> Iterator[tuple[str, Fraction | None]]:
    """(node, amps) of all equipment that has the supply that it needs."""
    for item in scenario.sections["equipment"]:
        yield from _drawn_by(scenario, item)


def _drawn_by(scenario: Scenario, item: Raw) -> Iterator[tuple[str, Fraction | None]]:
    fed = scenario.fed(item["id"])
    every = item.get("needs") == "all"
    if item["id"] in scenario.then.get("shed", []) or not any(fed):
        return
    if every and not all(fed):
        return
    buses = scenario.live_supplies(item["id"])
    written = scenario.sections["supply amps"].get(item["id"], [])
    if every and any(a is not None for a in written):
        own = [_figure(scenario, a) for a in written]
        parts = [(b, a if None not in own else None) for b, a in zip(buses, own, strict=True)]
    else:
        amps = _figure(scenario, item.get("amps"))
        parts = [
            (b, None if amps is None else amps * share) for b, share in _highest(scenario, buses)
        ]
    for bus, amps in parts:
        amps = _following(scenario, item, bus, amps)
        if amps != 0:
            yield bus, amps


def _has_own_amps(scenario: Scenario, item: Raw) -> bool:
    """Whether its supplies have figures, of which one at least is above 0."""
    written = scenario.sections["supply amps"].get(item["id"], [])
    own = [_figure(scenario, a) for a in written]
    return item.get("needs") == "all" and None not in own and any(own)


def _figure(scenario: Scenario, written: object) -> Fraction | None:
    if isinstance(written, dict):
        written = written.get(scenario.condition.get("loads"))
    return None if written is None else _exact(written)


def _following(scenario: Scenario, item: Raw, bus: str, amps: Fraction | None) -> Fraction | None:
    """What is drawn there, if amps at the volts at which loads are taken are so many."""
    taken_at = scenario.sections["aircraft"].get("load-volts")
    nodes = (*scenario.sources.values(), *scenario.sections["buses"])
    current = next(r.get("current", "dc") for r in nodes if r["id"] == bus)
    kind = item.get("load", "constant-current")
    here = _volts(scenario, bus)
    if amps and taken_at and kind != "constant-current" and current == "dc":
        if kind == "resistive":
            return amps * here / _millivolts(taken_at)
        return amps * _millivolts(taken_at) / here if here else None
    return amps


def _exact(written: object) -> Fraction:
    return Fraction(str(written))


def _hundredth(amps: Fraction) -> Fraction:
    return Fraction(
        (Decimal(amps.numerator) / Decimal(amps.denominator)).quantize(
            Decimal("0.01"), ROUND_HALF_UP
        )
    )
