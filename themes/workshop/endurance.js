/* Minutes on battery: how long each battery lasts when only batteries are left.

The same rules as the package's answers about endurance, after UK CAA AIL/0194 (2004). Classic
script after figures.js, to which it adds `endurance`. */
"use strict";

figures.endurance = (() => {
  const LONGEST_MINUTES = 240;
  const { once, sorted } = engine;
  const {
    NOTHING, Sharing, added, ampsOf, columnOf, conditionOf, exact, keptOf, least, loadsIn, most, overLimits,
    ratio, stateOf, sum,
  } = figures;
  const MINUTES = ratio(60, 1); // in an hour
  const ONE = ratio(1, 1);
  const ALL = ""; // every battery, in place of the id of one

  /* How long each battery lasts that carries load, alone or with others:
  [{battery, total, upTo, atVolts, verdict, reaches, required, acting, recognition, cruise, landing,
  flatBefore, allFlatBefore, flatAt, unknown, equallyCharged, stillClosed, mayOpen, movesAtLowVolts,
  movesAtHighVolts, opensWhenFlat, opensInLanding, mayOpenInLanding, overRatingLater, lostAtLowVolts}].

  `outcome` is an answer at once, or after the crew has acted. Minutes count from the failure: the load
  as it left the aircraft until the crew acts, at minute `acting`, then as the crew leaves it. `asked` is
  the failure's own `battery-time`. `total` is null without limit, or where it is not known; `upTo` is the
  longest total at other volts within the ranges, if that is longer; `atVolts` are its own volts at which
  it is so, if it has a range. `flatBefore` are the batteries that are flat before it where that changes
  its load, `allFlatBefore` all of them, each at its minute in `flatAt`; `equallyCharged` those that may
  share its load. `stillClosed` is what must open by overload and is closed here, `mayOpen` what may,
  `opensWhenFlat` what must or may once a battery is flat, `opensInLanding` with the figures of the landing
  column, of which `mayOpenInLanding` may. Empty where the condition asks for no battery time. */
  function endurance(outcome, k = 0, asked = {}) {
    if (outcome.scenarios.length > 1) outcome = alone(outcome, k);
    const { net, after } = outcome;
    const condition = conditionOf(outcome, 0);
    const { noBatteryTime, batteryTime } = net.conditions[condition];
    if (noBatteryTime) return [];
    const column = columnOf(net, condition);
    const phases = new Phases(outcome);
    if (!onBattery(phases.atOnce) && !onBattery(phases.crew)) return [];
    const batteries = net.sources.flatMap((source, s) => {
      if (source.kind !== "battery") return [];
      const of = Object.fromEntries(Object.entries({ ...source.batteryTime, ...batteryTime, ...asked }).map(
        ([name, value]) => [name, typeof value === "number" ? exact(value) : value]));
      return [{
        s, id: source.id, asked: of, shed: after.shed,
        capacity: source.ampHours
          ? exact(source.ampHours).times(of.usable).times(MINUTES) : null,
        loads: loadsIn(net, column),
        landing: loadsIn(net, of.landing_column || column),
      }];
    });
    const found = places(net).flatMap((place) => endurancesAt(batteries, (flat) => phases.with(flat, place))
      .map((one) => ({ place, one })));
    const { atOnce = after } = outcome;
    const atOnceOver = worst(over(outcome, after), over(outcome, atOnce));
    const normally = over(outcome, net.before[condition]);
    const [stillClosed, may] = ["must", "may"].map((word) =>
      sorted([...atOnceOver.keys()].filter((d) => atOnceOver.get(d) === word)));
    const mayOpen = may.filter((d) => !normally.has(d));
    return batteries.flatMap(({ s, id, asked: of }) => {
      const inOrder = found.filter(({ one }) => one.battery === id)
        .sort((first, second) => byEnd(first.one, second.one));
      if (!inOrder.length) return [];
      const [{ place, one: shorter }] = inOrder;
      const { total } = shorter;
      const unknown = sorted(new Set(inOrder.flatMap(({ one }) => one.unknown)));
      const longest = inOrder[inOrder.length - 1].one.total || ratio(LONGEST_MINUTES + 1, 1);
      // The shortest, and one of each order in which batteries are flat at other volts.
      const orders = new Map(inOrder.slice(1).map(({ one }) => [orderOf(one), one]));
      orders.delete(orderOf(shorter));
      const every = [shorter, ...orders.values()];
      const opensWhenFlat = phases.opensWhenFlat(outcome, every, atOnceOver);
      const inLanding = new Map(phases.opensInLanding(outcome, every, of,
        worst(atOnceOver, opensWhenFlat.map(([device, , word]) => [device, word]))));
      const opensInLanding = sorted(inLanding.keys());
      const stages = phases.byWhatIsFlat(outcome, every);
      const [moves, movesHigh] = [0, 1].map((end) => phases.moves(stages, s, end));
      const sure = !(moves.length + movesHigh.length + stillClosed.length + mayOpen.length + opensWhenFlat.length + opensInLanding.length);
      return [{
        ...shorter,
        unknown,
        reaches: unknown.length && !total ? "not-known" : shorter.reaches,
        upTo: total && shown(total) !== shown(longest) ? longest : null,
        atVolts: net.sources[s].range ? voltsOf(net, s, place) / 1000 : null,
        equallyCharged: batteries.filter((b) => b.s !== s
          && [atOnce, ...phases.asFlat(after, every)].some((power) => mayShare(power, s, b.s))).map((b) => b.id),
        stillClosed,
        mayOpen,
        movesAtLowVolts: moves,
        movesAtHighVolts: movesHigh,
        opensWhenFlat,
        opensInLanding,
        mayOpenInLanding: opensInLanding.filter((device) => inLanding.get(device) === "may"),
        overRatingLater: overRatingLater(shorter, net.sources[s].amps),
        verdict: sure && (shorter.verdict === "short" || !unknown.length) ? shorter.verdict : "not-known",
        lostAtLowVolts: sorted(new Set(stages.flatMap(([power]) => lostWith(power, s)))),
      }];
    });
  }

  /* Where the volts may be that the load of batteries follows, the sources that are at the top of their
  range, the others at the bottom: every battery at either end, the converters all at the bottom or all
  at the top; then null, all at nominal volts. */
  const places = (net) => keptOf(net, "places", () => {
    const ranged = (kind) => [...net.sources.keys()].filter((s) =>
      net.sources[s].range && net.sources[s].kind === kind);
    const batteries = ranged("battery");
    const converters = ranged("converter");
    if (!batteries.length && !converters.length) return [[]];
    const both = converters.length ? [[], converters] : [[]];
    return [...figures.atTopInTurn(batteries).flatMap((top) => both.map((some) => [...top, ...some])), null];
  });

  /* The volts of a source in a place of its range, if it has one, mV. */
  function voltsOf(net, s, place) {
    const { range, millivolts } = net.sources[s];
    return place && range ? range[Number(place.includes(s))] : millivolts;
  }

  /* What the remarks follow from: which batteries are flat before one, which of them change its load, and
  which of them are flat before the landing. */
  const orderOf = (one) => JSON.stringify([idsOf(flatTogether(one)),
    sorted(new Set(one.flatBefore.map(({ battery }) => battery))), flatBeforeLanding(one), lands(one)]);

  /* By id of what is over its limit, with nothing failed too: `must` it open, or `may` it. */
  function over({ scenarios, net }, power) {
    const stuck = (scenarios[0].failed || []).filter(([, mode]) => mode === "stuck-closed").map(([id]) => id);
    return new Map([...overLimits(net, ampsOf(power, 0))].map(([d, { word }]) => [net.devices[d].id, word])
      .filter(([id]) => !stuck.includes(id)));
  }

  const worst = (...all) => new Map(all.flatMap((words) => [...words])
    .sort(([, one], [, other]) => (one < other ? -1 : Number(one > other))));

  const worse = (words, known) => [...words].filter(([id, word]) => !["must", word].includes(known.get(id)));

  /* [battery, amps]: once that is flat, or in the landing with none, this one is over its rating and gives
  more than before. */
  function overRatingLater({ recognition, cruise, landing, flatBefore }, rating) {
    const later = flatBefore.map(({ battery, amps }) => [battery, amps]);
    if (landing.minutes && landing.minutes.n) later.push(["", landing.amps]);
    let before = rating && most(recognition.amps, cruise.amps, exact(rating));
    return later.filter(([, amps]) => {
      const isMore = rating && amps.compare(before) > 0;
      if (isMore) before = amps;
      return isMore;
    });
  }

  const lands = ({ landing }) => Boolean(landing.minutes && landing.minutes.n);

  /* How many steps come before the landing; without limit none. */
  function flatBeforeLanding(one) {
    if (!one.total) return 0;
    const begins = one.landing.minutes ? one.total.minus(one.landing.minutes) : one.total;
    return flatTogether(one).filter(({ minute }) => minute.compare(begins) <= 0).length;
  }

  /* By id of each battery that is not flat the same after it has gone to the bottom (0) or top (1)
  of its range, and under ALL with all of them there. */
  const atEnd = (power, end) => keptOf(power, `at end ${end}`, () => {
    const { net, steady, shed } = power;
    const moved = withBatteriesAt(net, end);
    const left = [...moved.keys()].filter((id) => id !== ALL && steady.set.onLine[net.node.get(id)] & 1);
    if (left.length > 1) left.push(ALL);
    return new Map(left.map((id) => [id, engine.powerOf(
      engine.runStage(moved.get(id), steady.set, engine.positionsOf(steady), false), shed)]));
  });

  const withBatteriesAt = (net, end) => keptOf(net, `batteries at ${end}`, () => {
    const volts = net.data.sources.filter(({ kind, range }) => kind === "battery" && range)
      .map(({ id, range }) => [id, range[end]]);
    if (!volts.length || !engine.goesByVolts(net)) return new Map();
    const chosen = volts.map((one) => [one[0], [one]]);
    if (volts.length > 1) chosen.push([ALL, volts]);
    return new Map(chosen.map(([id, some]) => [id, engine.atVolts(net, new Map(some))]));
  });

  /* What is lost as the volts of one battery go down; of what only all of them together take, what
  it carries. */
  function lostWith(after, s) {
    const { net } = after;
    const gone = new Map([...atEnd(after, 0)].map(([id, there]) =>
      [id, [...net.equipment.keys()].filter((e) => after.works[e] & ~there.works[e] & 1)]));
    const byAll = new Set(gone.get(ALL));
    gone.delete(ALL);
    for (const some of gone.values()) for (const e of some) byAll.delete(e);
    const theirs = [...byAll].filter((e) => carries(after, s, e, byAll));
    return [...gone.get(net.sources[s].id) || [], ...theirs].map((e) => net.equipment[e].id);
  }

  /* Whether one of two batteries carries load, and the other might, at some volts within their
  ranges: at one node, or at two that feed one item or converter, which draws from the higher: a
  generator at one of them leaves the batteries nothing to share. */
  function mayShare(power, one, other) {
    const { net, offered, carriers, levels } = power;
    const spanOf = ({ range, millivolts }) => (range || [millivolts, millivolts]).map((v) => v - millivolts);
    const [low, high] = spanOf(net.sources[one]);
    const [otherLow, otherHigh] = spanOf(net.sources[other]);
    const mayCarry = (s, highest, n) => net.sources.some((source, k) => carriers[n][k] & 1
      && offered[s][n].some(([level, here]) => here & 1 && levels[n].some(([shown, where]) =>
        where & 1 && shown + spanOf(source)[0] <= level + highest + engine.SHARING)));
    const share = (n, m, within, more = 0) => (carriers[n][one] | carriers[m][other]) & 1
      && mayCarry(one, high, n) && mayCarry(other, otherHigh, m)
      && offered[one][n].some(([level, here]) => here & 1
        && offered[other][m].some(([otherLevel, there]) => there & 1
          && level + high >= otherLevel + more + otherLow - within
          && otherLevel + more + otherHigh >= level + low - within));
    return loadedNodes(net).some((n) => share(n, n, engine.SHARING))
      || fedFromTwo(power).some(([[n, drop], [m, otherDrop]]) => share(n, m, 0, drop - otherDrop));
  }

  /* Two nodes that both feed one item that works from either, or one converter; each with what the
  diodes in its feed drop, mV. */
  const fedFromTwo = (power) => keptOf(power, "fed from two", () => {
    const { net, fed, shed, steady } = power;
    const ofItems = net.equipment.map(({ all }, e) => (all || shed.has(e) ? []
      : net.supplies[e].filter((_, i) => fed[e][i] & 1).map(({ bus }) => [bus, 0])));
    const { dropOf } = stateOf(power, 0);
    const ofConverters = net.sources.map((_, s) => net.branches.flatMap((branch, i) =>
      (branch.intoConverter && branch.target === s && steady.produces[s] & steady.ways.along[i]
        & steady.live[branch.origin] & 1 ? [[branch.origin, dropOf(i)]] : [])));
    return [...ofItems, ...ofConverters].flatMap((nodes) =>
      nodes.flatMap((n) => nodes.map((m) => [n, m])));
  });

  /* Whether a source carries an item, or what is lost of what it requires. */
  function carries(power, s, e, lost) {
    const { net, fed, carriers } = power;
    return net.supplies[e].some(({ bus }, i) => fed[e][i] & carriers[bus][s] & 1)
      || net.requires[e].flat().some((other) => lost.has(other) && carries(power, s, other, lost));
  }

  /* One scenario of a word, by itself. */
  function alone({ net, scenarios, then, dip }, k) {
    const atOnce = engine.solve(net, [scenarios[k]], { dip });
    return then ? engine.afterTheCrew(atOnce, then) : atOnce;
  }

  /* Whole minutes, as they are printed; a long time has no precision. */
  const shown = (minutes) => Math.min(minutes.roundedDown,
    minutes.compare(ratio(LONGEST_MINUTES, 1)) > 0 ? LONGEST_MINUTES + 1 : LONGEST_MINUTES);

  /* What has no limit, or is not known, is last. */
  const byEnd = ({ total: one }, { total: other }) => {
    if (one && other) return one.compare(other);
    return one ? -1 : other ? 1 : 0;
  };

  /* The nodes from which something draws. */
  const loadedNodes = (net) => [...new Set([
    ...net.supplies.flat().map((supply) => supply.bus),
    ...net.branches.filter((b) => b.intoConverter).map((b) => b.origin),
  ])];

  /* Whether a battery may carry load: elsewhere there is no endurance. */
  function onBattery(power) {
    const { net } = power;
    const batteries = [...net.sources.keys()].filter((s) => net.sources[s].kind === "battery");
    // Where nothing says who carries a node, any source that reaches it may.
    const { notShared } = new Sharing(stateOf(power, 0));
    return batteries.some((s) => loadedNodes(net).some((n) => power.carriers[n][s] & 1)
      || [...notShared.values()].some((reaching) => reaching.includes(s)));
  }

  /* How load falls on the batteries that are left, at once and after the crew has acted. What the
  crew sheds is left on here: it switches nothing, and is left out where amps are added up. */
  class Phases {
    constructor({ net, after, atOnce, dip }) {
      this.net = net;
      this.dip = dip;
      this.atOnce = atOnce || after;
      this.crew = atOnce ? engine.powerOf(after.steady) : after;
    }

    /* `flat`: the batteries that are flat, ids; those that end at the same minute together. */
    with(flat, place) {
      const powers = [this.whenFlat(this.atOnce, flat), this.whenFlat(this.crew, flat)];
      const load = powers.map((power) => keptOf(power, `falls ${place}`, () => loadOn(power, place)));
      // What supplies draw by the landing's column, where they have figures of their own.
      load.landing = (column) => keptOf(powers[1], `lands ${place} ${column}`, () => loadOn(powers[1], place, column));
      return load;
    }

    /* [device, battery, word]: what must or may open by overload when that is flat, and less so before. */
    opensWhenFlat(outcome, every, known) {
      const found = new Map();
      for (const flat of every.map(flatTogether)) {
        let before = known;
        flat.forEach(({ ids }, i) => {
          const words = over(outcome, this.whenFlat(outcome.after, idsOf(flat.slice(0, i + 1))));
          for (const [device, word] of worse(words, before)) {
            const key = `${device} ${word}`;
            if (!found.has(key)) found.set(key, [device, ids[ids.length - 1], word]);
          }
          before = worst(before, words);
        });
      }
      const order = (one) => one.join("\n");
      return [...found.values()].sort((one, other) => (order(one) < order(other) ? -1 : 1));
    }

    /* [device, word]: the same with the figures of the landing, with what is flat by then. */
    opensInLanding(outcome, every, asked, known) {
      const { landing_column: column, landing_minutes: minutes } = asked;
      if (!column || !minutes.n) return [];
      const net = keptOf(this.net, `landing ${column}`, () => engine.withLoads(this.net, column));
      const words = every.filter((each) => !each.total || lands(each)).flatMap((one) => {
        const together = idsOf(flatTogether(one));
        return [...together.keys(), together.length].slice(flatBeforeLanding(one)).map((flat) => {
          const { steady } = this.whenFlat(outcome.after, together.slice(0, flat));
          return over(outcome, engine.powerOf(
            engine.runStage(net, steady.set, engine.positionsOf(steady), false), outcome.after.shed));
        });
      });
      return worse(worst(...words), known);
    }

    /* The states that a battery goes through as others are flat before it. */
    asFlat(power, every) {
      return [power, ...every.flatMap((one) => idsOf(flatTogether(one))
        .map((_, i, flat) => this.whenFlat(power, flat.slice(0, i + 1))))];
    }

    /* [power, whether its load changes later], one after the other, by what is flat before a battery
    is. Only the first where nothing goes by volts: then the others say the same. */
    byWhatIsFlat(outcome, every) {
      if (!engine.goesByVolts(this.net)) return [[outcome.after, false]];
      return every.flatMap((one) => {
        const flat = idsOf(flatTogether(one));
        return [...flat.keys(), flat.length].map((number) => [
          this.whenFlat(outcome.after, flat.slice(0, number)),
          one.flatBefore.some(({ battery }) => flat.slice(number).flat().includes(battery))]);
      });
    }

    /* [device, how it moves] of what moves at the bottom (0) or the top (1) of the batteries' ranges,
    whatever is flat by then, and makes the minutes of a battery others. */
    moves(stages, s, end) {
      const { net } = this;
      const found = { opens: new Set(), closes: new Set() };
      for (const [after, loadChanges] of stages) {
        for (const d of this.moving(after, s, loadChanges, end)) {
          found[after.steady.conducts[d] & 1 ? "opens" : "closes"].add(d);
        }
      }
      return net.switching.flatMap((d) => ["opens", "closes"].filter((verb) => found[verb].has(d))
        .map((verb) => [net.devices[d].id, verb]));
    }

    /* The devices that move with no more batteries flat. The minutes are not others where it feeds
    the same before and after, and no other battery plays a part in them: none hands it a load when
    it is flat. What one battery moves is not said again of all. */
    moving(after, s, loadChanges, end) {
      const closedIn = ({ steady }, d) => steady.conducts[d] & 1;
      const place = end ? [...after.net.sources.keys()] : [];
      const fed = (power) => fedBy(loadOn(power, place), s);
      const now = once(() => fed(after));
      const changes = (there) => loadChanges
        || [() => there, () => this.alone(after, s), () => this.alone(there, s)].some((power) => fed(power()) !== now());
      const each = [...atEnd(after, end)].map(([id, there]) => [id, there,
        this.net.switching.filter((d) => closedIn(there, d) !== closedIn(after, d))]);
      const byOne = new Set(each.flatMap(([id, , moved]) => (id === ALL ? [] : moved)));
      const found = new Set();
      for (const [id, there, moved] of each) {
        if (!moved.length || !changes(there)) continue;
        const more = id === ALL ? moved.filter((d) => !byOne.has(d)) : moved;
        for (const d of more.length || found.size ? more : moved) found.add(d);
      }
      return found;
    }

    /* The same when all other batteries are flat. */
    alone(power, s) {
      return this.withFlat(power, [...power.net.sources.keys()]
        .filter((b) => b !== s && power.net.sources[b].kind === "battery"));
    }

    /* The state when these are flat, each time from the one before. */
    whenFlat(power, flat) {
      return flat.reduce((before, ids) => keptOf(before, `flat ${ids.join()}`, () =>
        this.withFlat(before, ids.map((id) => this.net.node.get(id)))), power);
    }

    withFlat(power, flat) {
      if (!flat.length) return power;
      const { net, steady, shed } = power;
      const onLine = steady.set.onLine.slice();
      for (const s of flat) onLine[s] = 0;
      const set = { ...steady.set, onLine };
      return engine.powerOf(engine.runStage(net, set, engine.positionsOf(steady), this.dip), shed);
    }
  }

  const idsOf = (flat) => flat.map(({ ids }) => ids);

  /* {minute, ids} of the batteries that are flat before one, those at the same minute together. */
  function flatTogether({ allFlatBefore, flatAt }) {
    const found = [];
    allFlatBefore.forEach((id, i) => {
      const last = found[found.length - 1];
      if (last && !last.minute.compare(flatAt[i])) last.ids.push(id);
      else found.push({ minute: flatAt[i], ids: [id] });
    });
    return found;
  }

  /* By node, what amps follow with sources elsewhere in their ranges, mV; null where it is the same.
  Who carries what is as at nominal volts. */
  function voltsAtPlace(power, k, place) {
    const { net } = power;
    if (!place || !net.sources.some((s) => s.range)) return null;
    const moved = net.sources.map(({ millivolts }, s) => voltsOf(net, s, place) - millivolts);
    const bit = (mask) => (mask >>> k) & 1;
    return net.nodes.map((_, n) => Math.max(0, ...net.sources.flatMap((__, s) =>
      (bit(power.carriers[n][s])
        ? power.offered[s][n].filter(([, where]) => bit(where)).map(([level]) => level + moved[s])
        : []))));
  }

  /* What equipment draws, [item or null, node, part or null if not known, id], and by node what
  each battery gives there for each ampere; not one that floats. */
  function loadOn(power, place, column = undefined) {
    const state = stateOf(power, 0);
    const { net, supplied } = state;
    const sharing = new Sharing(state, voltsAtPlace(power, 0, place) || state.shown);
    if (column !== undefined) sharing.loads = loadsIn(net, column);
    const drawing = supplied.flatMap(([e, live]) =>
      sharing.draws(e, live).map(([node, part]) => [e, node, part, net.equipment[e].id]));
    // What a converter gives where nothing says who carries a node, or takes to feed itself, is not
    // known.
    const unsure = new Set([...[...sharing.notShared.values()].flat(), ...sharing.circular]);
    for (const s of unsure) {
      for (const [node] of sharing.inputs.has(s) ? sharing.fedFrom(s) : []) {
        drawing.push([null, node, null, net.sources[s].id]);
      }
    }
    const floats = floating(power, sharing);
    const given = new Map();
    for (const [, node] of drawing) {
      if (given.has(node)) continue;
      given.set(node, new Map([...givenFor(sharing, node)].filter(
        ([s]) => net.sources[s].kind === "battery" && !floats.has(s))));
    }
    return { net, drawing, given };
  }

  /* By source, what it gives for an ampere drawn at a node, through converters too: {amps, all};
  `all` is false where more may come on top, over a node of which nothing says who carries it. */
  function givenFor(sharing, node) {
    const found = new Map();
    const unsure = new Set();
    const waiting = [[node, ONE, true]];
    while (waiting.length) {
      let [here, amps, all] = waiting.pop();
      const reaching = sharing.notShared.get(here);
      if (reaching) [amps, all] = [NOTHING, false];
      if (!all && unsure.has(here)) continue;
      if (!all) unsure.add(here);
      for (const [source, part] of reaching ? reaching.map((s) => [s, ONE]) : sharing.carriers(here)) {
        const before = found.get(source) || { amps: NOTHING, all: true };
        const gives = amps.times(part);
        found.set(source, { amps: before.amps.plus(gives), all: before.all && all });
        for (const [origin, taken] of sharing.inputs.get(source) || []) {
          waiting.push([origin, gives.times(taken), all]);
        }
      }
    }
    return found;
  }

  const inFull = (part) => { const { n, d } = part.lowest(); return `${n}/${d}`; };

  /* What a battery gives for each ampere of each item, to compare. */
  function fedBy({ drawing, given }, battery) {
    const fed = new Map();
    for (const [, node, part, id] of drawing) {
      const gives = given.get(node).get(battery);
      if (!gives) continue;
      const before = fed.get(id) || { amps: NOTHING, all: true };
      fed.set(id, {
        amps: part ? before.amps.plus(part.times(gives.amps)) : before.amps,
        all: Boolean(before.all && gives.all && part),
      });
    }
    return sorted(fed.keys()).map((id) => `${id} ${inFull(fed.get(id).amps)} ${fed.get(id).all}`).join();
  }

  /* The batteries that give nothing: a generator, external power or a converter fed from one offers as
  many volts at their terminals as they have, or more; where AC sources conflict it is not known. */
  function floating({ offered }, { state, inputs, circular, conflicts }) {
    const { net, carriers } = state;
    const machines = new Set([...net.sources.keys()].filter(
      (s) => !["battery", "converter"].includes(net.sources[s].kind)));
    for (let before = -1; before < machines.size;) {
      before = machines.size;
      for (const [s, taken] of inputs) {
        if (!circular.has(s) && [...taken.keys()].some((n) => !conflicts.has(n)
          && carriers[n].some((m) => machines.has(m)))) machines.add(s);
      }
    }
    return new Set([...net.sources.keys()].filter((s) => net.sources[s].current !== "ac" && [...machines].some((m) =>
      offered[m][s].some(([level, where]) => where & 1 && level >= net.sources[s].millivolts))));
  }

  /* What a battery gives in one stage, {amps, unknown}; `unknown` are the ids of what draws from it
  and has no figure. */
  function stageAmps({ drawing, given }, battery, loads, shed) {
    const drawn = new Map();
    const unknown = new Set();
    for (const [e, node, part, id] of drawing) {
      const gives = given.get(node).get(battery);
      const figure = e === null ? null : loads[e].figure;
      if (!gives || shed.has(e)) continue;
      if (figure && part) added(drawn, node, part.times(figure));
      if (!figure || (figure.n && !(part && gives.all))) unknown.add(id);
    }
    const amps = sum([...drawn].map(([node, total]) => given.get(node).get(battery).amps.times(total)));
    return { amps, unknown };
  }

  const NONE_SHED = new Set();

  /* A battery in a phase: its three stages, and what feeds from it. */
  function drawOf(of, phase) {
    return keptOf(phase.draws, of, () => {
      const [atOnce, crew] = phase.load;
      const recognition = stageAmps(atOnce, of.s, of.loads, NONE_SHED);
      const cruise = stageAmps(crew, of.s, of.loads, of.shed);
      const apart = of.landing !== of.loads && of.loads.some(({ each }) => each);
      const lands = apart ? phase.load.landing(of.asked.landing_column) : crew;
      const landing = stageAmps(lands, of.s, of.landing, of.shed);
      const stages = [recognition, cruise, landing];
      return {
        start: phase.start, stages, amps: stages.map((stage) => stage.amps),
        unknown: new Set(stages.flatMap((stage) => [...stage.unknown])),
      };
    });
  }

  /* Each battery's endurance, in the stages of its own time. */
  function endurancesAt(batteries, loadWith) {
    const phaseWhen = (start, flat) => ({ start, flat, load: loadWith(flat), draws: {} });
    return batteries.flatMap((of) => {
      const { asked, landing } = of;
      const every = batteries.map((b) => (b === of ? of : { ...b, asked, landing }));
      const [phases, end] = runDown(of, every, phaseWhen);
      // One that carries nothing now may take over when another is flat.
      const carries = phases.map((phase) => drawOf(of, phase))
        .some(({ amps, unknown }) => unknown.size || amps.some((one) => one.n));
      return carries ? [enduranceOf(of, every, phases, end)] : [];
    });
  }

  /* [the phases before a battery is flat, the minute at which it is]: the first at which a landing would
  have left nothing in it; null without limit, or where it has no amp-hours. */
  function runDown(of, batteries, phaseWhen) {
    const { recognition_minutes: shed, landing_minutes: landingMinutes } = of.asked;
    let left = new Map(batteries.flatMap((b) => (b.capacity ? [[b, b.capacity]] : [])));
    let minute = NOTHING;
    const phases = [phaseWhen(NOTHING, [])];
    for (;;) {
      const phase = phases[phases.length - 1];
      const stage = minute.compare(shed) < 0 ? 0 : 1;
      const amps = (b) => drawOf(b, phase).amps[stage];
      const times = new Map([...left].filter(([b]) => amps(b).n).map(([b, one]) => [b, one.by(amps(b))]));
      const steps = [...times.values()];
      if (stage) {
        const landing = land(of, new Map([...left].map(([b, at]) =>
          [b, { at, growth: NOTHING.minus(amps(b)) }])), phase, minute, phaseWhen);
        if (!landing.end && left.has(of) && !left.get(of).n) landing.end = minute.plus(landingMinutes);
        if (landing.end) {
          const [first, ...later] = [...phases, ...landing.phases];
          return [[first, ...later.filter(({ start }) => start.compare(landing.end) < 0)], landing.end.lowest()];
        }
        steps.push(...landing.holds);
      } else steps.push(shed.minus(minute));
      if (!steps.length) return [phases, null];
      const step = least(...steps).lowest();
      minute = minute.plus(step).lowest();
      if (!stage && times.has(of) && !times.get(of).compare(step)) return [phases, minute];
      const flat = [...times.keys()].filter((b) => b !== of && !times.get(b).compare(step));
      left = new Map([...left].filter(([b]) => !flat.includes(b))
        .map(([b, one]) => [b, one.minus(amps(b).times(step)).lowest()]));
      if (flat.length) phases.push(phaseWhen(minute, [...phase.flat, sorted(flat.map(({ id }) => id))]));
    }
  }

  /* A landing that begins at a minute: {phases, holds, end}, those that begin in it; if it begins less than
  any of `holds` later, all is flat in the same order; when the battery is flat, if it is before the landing
  ends. What is left in each battery is {at, growth}: now, and by how much more if it begins a minute later;
  of two that are equal now the one that grows less comes first. */
  function land(of, left, phase, minute, phaseWhen) {
    const found = { phases: [], holds: [], end: null };
    const order = (one, other) => one.at.compare(other.at) || one.growth.compare(other.growth);
    const minus = (one, other, factor) => ({
      at: one.at.minus(other.at.times(factor)).lowest(),
      growth: one.growth.minus(other.growth.times(factor)).lowest(),
    });
    let rest = { at: of.asked.landing_minutes, growth: NOTHING };
    for (;;) {
      const here = phase;
      const amps = (b) => drawOf(b, here).amps[2];
      const times = new Map([...left].filter(([b]) => amps(b).n)
        .map(([b, { at, growth }]) => [b, { at: at.by(amps(b)), growth: growth.by(amps(b)) }]));
      const every = [...times.values(), rest];
      const first = every.reduce((one, other) => (order(other, one) < 0 ? other : one));
      for (const { at, growth } of every) {
        if (growth.compare(first.growth) < 0) found.holds.push(at.minus(first.at).by(first.growth.minus(growth)));
      }
      if (times.has(of) && !times.get(of).at.compare(first.at)) found.end = minute.plus(first.at);
      if (found.end || !order(first, rest)) return found;
      const flat = [...times.keys()].filter((b) => !order(times.get(b), first));
      left = new Map([...left].filter(([b]) => !flat.includes(b))
        .map(([b, one]) => [b, minus(one, first, amps(b))]));
      minute = minute.plus(first.at).lowest();
      rest = minus(rest, first, ONE);
      phase = phaseWhen(minute, [...phase.flat, sorted(flat.map(({ id }) => id))]);
      found.phases.push(phase);
    }
  }

  /* The phases, by number, from the start of which on a battery gives other amps. */
  const changing = (of, phases) => [...phases.keys()].filter((i) => {
    const past = i && phases[i].start.compare(of.asked.recognition_minutes) >= 0;
    return i && drawOf(of, phases[i]).amps.some((one, stage) =>
      !(past && !stage) && one.compare(drawOf(of, phases[i - 1]).amps[stage]));
  });

  /* What is not known of a battery's load, and of that of those which hand theirs on to it. */
  function unknownOf(of, batteries, phases) {
    const feeds = (b, load) => load.drawing.filter(([, node]) => load.given.get(node).has(b.s))
      .map(([, , , id]) => id);
    const unsized = batteries.filter((b) => b !== of && !b.capacity && phases[0].load.some((load) => {
      const its = new Set(feeds(b, load));
      return feeds(of, load).some((id) => its.has(id));
    }));
    return [
      ...unsized.map((b) => b.id), ...phases.flatMap((phase) => [...drawOf(of, phase).unknown]),
      ...changing(of, phases).flatMap((i) => batteries
        .filter(({ id }) => phases[i].flat[phases[i].flat.length - 1].includes(id))
        .flatMap((b) => unknownOf(b, batteries, phases.slice(0, i)))),
    ];
  }

  function enduranceOf(of, batteries, phases, end) {
    const draws = phases.map((phase) => drawOf(of, phase));
    const unknown = sorted(new Set(unknownOf(of, batteries, phases)));
    const required = of.asked.required_minutes;
    const short = end && end.compare(required) < 0;
    return {
      battery: of.id,
      capacity: of.capacity,
      required,
      acting: of.asked.recognition_minutes,
      ...stagesOf(of, draws, end),
      total: end,
      reaches: unknown.length && !end ? "not-known" : reachesOf(of, end),
      verdict: short ? "short" : unknown.length || !of.capacity ? "not-known" : "enough",
      flatBefore: changing(of, phases).flatMap((i) => phases[i].flat[phases[i].flat.length - 1].map(
        (battery) => ({ battery, minute: phases[i].start, amps: amountAt(of, draws[i], phases[i].start, end) }))),
      allFlatBefore: phases[phases.length - 1].flat.flat(),
      flatAt: phases.slice(1).flatMap(({ start, flat }) => flat[flat.length - 1].map(() => start)),
      unknown,
    };
  }

  /* The stages, each {amps, minutes, used, unknown}: what it gives as the stage begins, how long
  that lasts, and what it takes, A-min; null without limit, or where the time is not known. */
  function stagesOf(of, draws, end) {
    const [recognition, cruise, landing] = draws[0].stages.map(({ amps: first, unknown }) =>
      ({ amps: first, minutes: null, used: null, unknown: sorted(unknown) }));
    const stages = { recognition, cruise, landing };
    if (!of.capacity) return stages;
    if (!end) {
      const { recognition_minutes: shed, landing_minutes: reserve } = of.asked;
      const last = draws[draws.length - 1].amps[2];
      Object.assign(recognition, { minutes: shed, used: usedInStages(of, draws, shed)[0] });
      Object.assign(landing, { minutes: reserve, used: last.times(reserve) });
      return stages;
    }
    const [shed, land] = stageEnds(of, end);
    const used = usedInStages(of, draws, end);
    const inForce = (minute, stage) =>
      draws.filter((draw) => draw.start.compare(minute) <= 0).pop().amps[stage];
    Object.assign(recognition, { minutes: shed, used: used[0] });
    Object.assign(cruise, { amps: inForce(shed, 1), minutes: land.minus(shed), used: used[1] });
    Object.assign(landing, { amps: inForce(land, 2), minutes: end.minus(land), used: used[2] });
    return stages;
  }

  /* The minutes at which recognition and cruise end; the landing is at the end, wherever that is. */
  function stageEnds({ asked }, end) {
    if (!end) return [asked.recognition_minutes, null];
    const shed = least(asked.recognition_minutes, end);
    return [shed, most(shed, end.minus(asked.landing_minutes))];
  }

  function amountAt(of, draw, minute, end) {
    const [shed, land] = stageEnds(of, end);
    if (minute.compare(shed) < 0) return draw.amps[0];
    return draw.amps[!land || minute.compare(land) < 0 ? 1 : 2];
  }

  function usedInStages(of, draws, end) {
    const [shed, land] = stageEnds(of, end);
    const stages = [[NOTHING, shed], [shed, land], [land, end]];
    return stages.map(([begin, stop], stage) => sum(draws.map((draw, i) => {
      const until = i + 1 < draws.length ? draws[i + 1].start : end;
      const minutes = least(until, stop).minus(most(draw.start, begin));
      return minutes.n > 0n ? draw.amps[stage].times(minutes) : NOTHING;
    })));
  }

  function reachesOf({ capacity, asked }, end) {
    if (!capacity) return "not-known";
    if (!end) return "without-limit";
    if (end.compare(asked.recognition_minutes) < 0) return "recognition";
    const reserve = asked.recognition_minutes.plus(asked.landing_minutes);
    return end.compare(reserve) < 0 ? "landing" : "through";
  }

  return endurance;
})();
