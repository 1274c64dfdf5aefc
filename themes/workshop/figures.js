/* Amps, overload and meters: everything that has a figure, in one scenario; minutes on battery are
in endurance.js.

The same rules as the package's answers about loads, held equal to them by tests. Figures are exact
fractions until they are printed. Each function takes an outcome of `engine` and the number of a
scenario in it. Classic script after engine.js and paths.js; it leaves one name, `figures`. */
"use strict";

const figures = (() => {
  const SHARING_ERROR = 10; // a source gives a tenth of its rating more or less than its share
  const PLACES = 2; // amps and limits of overload are compared rounded to these decimal places
  const BREAKER_OPENS_AT = [1.15, 1.38];
  const { known, once, sorted } = engine;

  // ---- Exact numbers

  const SAFE = BigInt(Number.MAX_SAFE_INTEGER);
  const LONG = 1n << 96n;

  function divisor(one, other) {
    while (other > SAFE) [one, other] = [other, one % other];
    if (!other) return one;
    // Below 2^53 plain numbers do, many times faster.
    let a = Number(other);
    let b = Number(one % other);
    while (b) [a, b] = [b, a % b];
    return BigInt(a);
  }

  /* n / d, both BigInt and d above 0; in lowest terms only where it has grown long. */
  class Fraction {
    constructor(n, d = 1n) {
      this.n = n;
      this.d = d;
    }

    plus(other) {
      if (this.d === other.d) return new Fraction(this.n + other.n, this.d);
      if (!this.n) return other;
      if (!other.n) return this;
      const common = divisor(this.d, other.d);
      const more = other.d / common;
      return new Fraction(this.n * more + other.n * (this.d / common), this.d * more);
    }

    minus(other) { return this.plus(other.negative()); }

    negative() { return new Fraction(-this.n, this.d); }

    absolute() { return this.n < 0n ? this.negative() : this; }

    times(other) {
      if (other === ONE) return this;
      if (this === ONE) return other;
      const d = this.d * other.d;
      const product = new Fraction(this.n * other.n, d);
      return d > LONG ? product.lowest() : product;
    }

    by(other) {
      return this.times(other.n < 0n ? new Fraction(-other.d, -other.n)
        : new Fraction(other.d, other.n));
    }

    /* Below 0, 0 or above it, as this is less than the other, equal or more. */
    compare(other) {
      const difference = this.n * other.d - other.n * this.d;
      return difference < 0n ? -1 : difference > 0n ? 1 : 0;
    }

    lowest() {
      const common = divisor(this.n < 0n ? -this.n : this.n, this.d);
      return common > 1n ? new Fraction(this.n / common, this.d / common) : this;
    }

    /* To whole units of the last of these decimal places, halves up; not of what is below 0. */
    rounded(places = 0) {
      const scale = 10n ** BigInt(places);
      return new Fraction((2n * this.n * scale + this.d) / (2n * this.d), scale);
    }

    get whole() { return Number(this.rounded().n); }

    get roundedDown() { return Number(this.n / this.d); }

    /* With always this many decimal places, as it is printed. */
    text(places) {
      const digits = String(this.rounded(places).n).padStart(places + 1, "0");
      const cut = digits.length - places;
      return places ? `${digits.slice(0, cut)}.${digits.slice(cut)}` : digits;
    }

    toString() {
      const { n, d } = this.lowest();
      return d === 1n ? String(n) : `${n}/${d}`;
    }
  }

  const NOTHING = new Fraction(0n);
  const ONE = new Fraction(1n);
  const HUNDRED = new Fraction(100n);
  const LEAST_SEEN = new Fraction(1n, 2n); // A: less reads as no load
  const TOGETHER = new Fraction(999n, 1000n); // of the worst overload: what is as near opens with it

  /* A figure of the catalogue, as it is written there. */
  function exact(figure) {
    const [, sign, before, after = "", power = 0] =
      /^(-?)(\d+)(?:\.(\d+))?(?:e([+-]\d+))?$/.exec(String(figure));
    const places = after.length - Number(power);
    const n = BigInt(sign + before + after);
    return places > 0 ? new Fraction(n, 10n ** BigInt(places))
      : new Fraction(n * 10n ** BigInt(-places));
  }

  const ratio = (n, d) => new Fraction(BigInt(n), BigInt(d));
  const most = (...all) => all.reduce((one, other) => (one.compare(other) < 0 ? other : one));
  const least = (...all) => all.reduce((one, other) => (one.compare(other) > 0 ? other : one));
  const END_OF = [least, most];
  const sum = (all) => all.reduce((one, other) => one.plus(other), NOTHING);
  const added = (map, key, amount) => map.set(key, map.has(key) ? map.get(key).plus(amount) : amount);

  function lazily(object, values) {
    for (const [name, work] of Object.entries(values)) {
      Object.defineProperty(object, name, { get: once(work) });
    }
    return object;
  }

  // ---- What the catalogue says of a net: worked out once

  const kept = new WeakMap();

  function keptOf(owner, key, work) {
    if (!kept.has(owner)) kept.set(owner, new Map());
    const values = kept.get(owner);
    if (!values.has(key)) values.set(key, work());
    return values.get(key);
  }

  // Without a load column: a name that no column has.
  const columnOf = (net, c) => net.conditions[c].loads || "";

  const figureIn = (written, column) => {
    const amps = written && typeof written === "object"
      ? new Map(Object.entries(written)).get(column) : written;
    return amps === undefined || amps === null ? null : exact(amps);
  };

  /* By equipment: what it draws in a load column, A, or null, with `peak` for a short time; and of
  what has a figure for each of its supplies these, where one that is not known counts 0. */
  const loadsIn = (net, column, peak = false) => keptOf(net, `loads ${column} ${peak}`, () => net.equipment.map((item) => {
    const short = peak && figureIn(item.peak, column);
    const atMost = (figure) => (short ? most(short, figure || NOTHING) : figure);
    if (!item.ofSupplies) return { figure: atMost(figureIn(item.amps, column)) };
    const each = item.ofSupplies.map((amps) => figureIn(amps, column));
    return {
      figure: atMost(each.includes(null) ? null : sum(each)), each: each.map((amps) => amps || NOTHING),
    };
  }));

  const followsVolts = (net, e) =>
    Boolean(net.equipment[e].load) && net.data.loadMillivolts !== undefined;

  const branchesWith = (net, id) => keptOf(net, `branches ${id}`, () => {
    const device = net.device.get(id);
    return [...net.branches.keys()].filter((i) => net.branches[i].through.includes(device));
  });

  /* By device in a feeder that opens by overload: from which amps it may, and it must. */
  const limitsOf = (net) => keptOf(net, "limits", () => {
    const limits = new Map();
    net.devices.forEach((device, d) => {
      const opensAt = device.opensAt || (device.kind === "breaker" ? BREAKER_OPENS_AT : null);
      const feeders = branchesWith(net, device.id).filter((i) => !net.branches[i].intoConverter);
      if (!opensAt || !device.amps || !feeders.length) return;
      const [may, must] = opensAt.map((times) =>
        exact(device.amps).times(exact(times)).rounded(PLACES));
      limits.set(d, { may, must, feeders });
    });
    return limits;
  });

  // ---- Who carries what: how an ampere drawn at a node falls on the sources

  /* One scenario of a steady state, by number of node, device and branch. */
  const stateOf = (power, k) => keptOf(power, `state ${k}`, () => {
    const { net, steady } = power;
    const { set, ways, passes } = steady;
    const bit = (mask) => (mask >>> k) & 1;
    const state = {
      net, power, k, bit,
      column: columnOf(net, set.inCondition.findIndex(bit)),
      producing: [...net.sources.keys()].filter((s) => bit(power.reach[s][s])),
      shown: power.levels.map((levels) => (levels.find(([, mask]) => bit(mask)) || [0])[0]),
      carriers: power.carriers.map((of) => [...of.keys()].filter((s) => bit(of[s]))),
      conducts: (i) => net.branches[i].through.every((d) => bit(steady.conducts[d])),
      // What the sound diodes of a branch drop, mV.
      dropOf: (i) => net.branches[i].diodes.reduce((total, d) =>
        total + (bit(set.bypassed[d]) ? 0 : net.devices[d].millivolts), 0),
    };
    return lazily(state, {
      topology: () => new paths.Topology(net.branches.flatMap((branch, i) => {
        const { origin, target, intoConverter } = branch;
        if (intoConverter || !bit(ways.along[i]) || !bit(passes[origin]) || !bit(passes[target])) {
          return [];
        }
        return [[i, origin, target, bit(ways.against[i]), state.dropOf(i)]];
      })),
      supplied: () => suppliedIn(power, bit),
    });
  });

  /* `volts`, by node: what amps follow where that is not what the node shows, mV. */
  class Sharing {
    constructor(state, volts = state.shown) {
      const { net, shown, producing } = state;
      this.state = state;
      this.net = net;
      this.volts = volts;
      this.loads = loadsIn(net, state.column);
      this.ofNode = new Map();
      this.flowsOf = new Map();
      const converters = producing.filter((s) => net.sources[s].kind === "converter");
      this.feeds = new Map(converters.map((s) => [s, [...net.branches.keys()].filter((i) => {
        const { origin, target, intoConverter } = net.branches[i];
        return intoConverter && target === s && state.conducts(i)
          && state.bit(state.power.steady.live[origin]);
      })]));
      // By converter, by node that feeds it: what the diodes in between drop, the least of several, mV.
      // Of several from one node those whose diodes drop more than half a volt more carry nothing.
      this.feedDrops = new Map();
      this.live = new Map();
      for (const [s, feeds] of this.feeds) {
        const drops = new Map();
        for (const i of feeds) {
          const { origin } = net.branches[i];
          drops.set(origin, Math.min(state.dropOf(i), drops.get(origin) ?? Infinity));
        }
        this.feedDrops.set(s, drops);
        this.live.set(s, feeds.filter((i) =>
          state.dropOf(i) - drops.get(net.branches[i].origin) <= engine.SHARING));
      }
      // By converter: what it takes from each node while it gives one ampere. Of an input without
      // volts no amps follow: it is among the circular ones.
      this.inputs = new Map(converters.map((s) => {
        const taken = new Map();
        for (const [node, part] of this.fedFrom(s)) {
          if (this.voltsLeft(s, node)) added(taken, node, part.times(this.taken(s, node)));
        }
        return [s, taken];
      }));
      this.circular = new Set(converters.filter((s) =>
        !this.inputs.get(s).size || this.upstream(s).has(s)));
      // By node of which nothing says who carries it, the sources that reach it: AC sources that are
      // not synchronised meet there, or a converter feeds its own input.
      const { power, bit } = state;
      this.conflicts = new Set([...net.nodes.keys()].filter((n) => bit(power.conflicts[n])));
      const notShared = [...this.conflicts];
      for (const s of this.circular) notShared.push(...this.origins(s));
      this.notShared = new Map(notShared.map((n) =>
        [n, producing.filter((s) => bit(power.reach[s][n]))]));
    }

    /* What a converter takes at a node with volts while it gives one ampere, all from there. */
    taken(converter, node) {
      const { millivolts, efficiency } = this.net.sources[converter];
      // Of its range, where it alone carries its terminals.
      const alone = String(this.state.carriers[converter]) === String(converter);
      return ratio(alone ? this.volts[converter] : millivolts, this.voltsLeft(converter, node))
        .by(exact(efficiency));
    }

    /* What is left at a converter's input from a node, less the diodes in its feed, mV. */
    voltsLeft(converter, node, volts = this.volts) {
      return Math.max(0, volts[node] - (this.feedDrops.get(converter)?.get(node) || 0));
    }

    origins(converter) { return this.live.get(converter).map((i) => this.net.branches[i].origin); }

    fedFrom(converter) { return this.drawnFrom(this.origins(converter), converter); }

    upstream(converter) {
      const found = new Set();
      const waiting = [converter];
      while (waiting.length) {
        for (const node of this.inputs.get(waiting.pop()).keys()) {
          for (const source of this.state.carriers[node]) {
            if (!this.inputs.has(source) || found.has(source)) continue;
            found.add(source);
            waiting.push(source);
          }
        }
      }
      return found;
    }

    /* [node, part]: equal parts of one ampere, from the nodes that leave the highest volts. */
    drawnFrom(nodes, converter) {
      return this.within(nodes, converter, 0).map((node, _, all) => [node, ratio(1, all.length)]);
    }

    /* Those that leave a converter, or an item, up to this much less than the highest, mV. */
    within(nodes, converter, less) {
      const left = nodes.map((node) => this.voltsLeft(converter, node, this.state.shown));
      return nodes.filter((_, i) => Math.max(...left) - left[i] <= less);
    }

    /* Those that leave the highest volts, or so little less that any may be the one that feeds; none
    where there is one alone. */
    nearHighest(nodes, converter) {
      const near = this.within([...new Set(nodes)], converter, engine.SHARING);
      return near.length > 1 ? near : [];
    }

    /* By bus that may supply equipment alone: what it draws there for an ampere of its figure. None
    where it has one such bus, or figures for its supplies; what needs all of them may draw from any. */
    anySupply(e, live) {
      const { net } = this;
      if (live.length < 2 || (this.loads[e].each || []).some((amps) => amps.n)) return new Map();
      const all = [...new Set(live.map((i) => net.supplies[e][i].bus))];
      const buses = net.equipment[e].all ? all : this.nearHighest(all);
      const known = buses.map((bus) => [bus, this.factor(e, bus)]).filter(([, factor]) => factor);
      return new Map(known.length > 1 ? known : []);
    }

    /* By node from which a converter may take all: what it takes there for an ampere given. */
    anyInput(converter) {
      const origins = this.origins(converter);
      if (origins.length < 2 || this.circular.has(converter)) return new Map();
      // What it feeds itself is none.
      const others = origins.filter((node) => !this.state.carriers[node].some((s) =>
        s === converter || (this.inputs.has(s) && this.upstream(s).has(converter))));
      const near = this.nearHighest(others, converter)
        .filter((node) => this.voltsLeft(converter, node));
      return new Map(near.map((node) => [node, this.taken(converter, node)]));
    }

    /* By what the volts of a bus multiply the amps of equipment; null at no volts. */
    factor(e, bus) {
      const { net, volts } = this;
      if (!followsVolts(net, e) || net.nodes[bus].current !== "dc") return ONE;
      const takenAt = net.data.loadMillivolts;
      if (net.equipment[e].load === "resistive") return ratio(volts[bus], takenAt);
      return volts[bus] ? ratio(takenAt, volts[bus]) : null;
    }

    /* [node, amps] of a piece of equipment for each ampere of its figure, from its live supplies;
    null where it would draw constant power from a bus without volts. */
    draws(e, live) {
      const supplies = this.net.supplies[e];
      const each = this.loads[e].each || [];
      const total = sum(each);
      const parts = total.n
        ? live.filter((i) => each[i].n).map((i) => [supplies[i].bus, each[i].by(total)])
        : this.drawnFrom(live.map((i) => supplies[i].bus));
      return parts.map(([bus, part]) => {
        const factor = this.factor(e, bus);
        return [bus, factor && part.times(factor)];
      });
    }

    /* By source: its part of an ampere drawn at a node; in proportion to ratings, if all have one. */
    carriers(node) {
      if (!this.ofNode.has(node)) {
        const carrying = this.state.carriers[node];
        const ratings = carrying.map((s) => this.net.sources[s].amps);
        const weights = ratings.map(ratings.every(Boolean) ? exact : () => ONE);
        const total = sum(weights);
        this.ofNode.set(node, new Map(carrying.map((s, i) => [s, weights[i].by(total).lowest()])));
      }
      return this.ofNode.get(node);
    }

    /* By source, by node: what the source gives there of an ampere drawn at a node, through
    converters too; the inputs of circular ones are left out. */
    flows(node) {
      if (!this.flowsOf.has(node)) {
        const found = new Map();
        for (const [source, part] of this.carriers(node)) {
          addedFlow(found, source, node, part);
          if (!this.inputs.has(source) || this.circular.has(source)) continue;
          for (const [origin, amps] of this.inputs.get(source)) {
            const taken = part.times(amps);
            for (const [other, at, more] of eachFlow(this.flows(origin))) {
              addedFlow(found, other, at, taken.times(more));
            }
          }
        }
        this.flowsOf.set(node, found);
      }
      return this.flowsOf.get(node);
    }
  }

  function addedFlow(flows, source, node, amps) {
    if (!flows.has(source)) flows.set(source, new Map());
    added(flows.get(source), node, amps);
  }

  function* eachFlow(flows) {
    for (const [source, nodes] of flows) for (const [node, amps] of nodes) yield [source, node, amps];
  }

  const totals = (flows) => new Map([...flows].map(([source, of]) => [source, sum([...of.values()])]));

  // ---- Amps in one state of a net

  /* What flows. `drawn`: [item, node, amps or null if not known] of all that draws. `seen`: as much has
  to flow for certain, that a direction is said. */
  class Amps {
    constructor(sharing, drawn, seen = NOTHING) {
      this.seen = seen;
      this.sharing = sharing;
      this.drawn = drawn;
      this.at = new Map();
      this.unknownNodes = new Set();
      for (const [, node, amps] of drawn) {
        if (amps) added(this.at, node, amps);
        else this.unknownNodes.add(node);
      }
      lazily(this, {
        flows: () => this.flowsFrom(this.at),
        // By source, by node: what something unknown takes, through converters too.
        unknownFlows: () => this.flowsOfUnknown(),
        sources: () => {
          const given = totals(this.flows);
          return new Map(sharing.state.producing.map((s) => [s, given.get(s) || NOTHING]));
        },
        shortNodes: () => {
          const short = new Set(this.unknownNodes);
          for (const source of this.unknownFlows.keys()) {
            for (const node of (sharing.inputs.get(source) || new Map()).keys()) short.add(node);
          }
          return short;
        },
        inputs: () => this.inputsOf(),
        byBranch: () => {
          const found = new Map();
          const note = (passages, amps) => {
            for (const number of passages.keys()) {
              if (!found.has(number)) found.set(number, []);
              found.get(number).push([passages.get(number), amps]);
            }
          };
          for (const [passages, amps] of this.passed(this.flows)) if (amps.n) note(passages, amps);
          for (const [passages] of this.passed(this.unknownFlows)) note(passages, null);
          return found;
        },
        branchBounds: () => this.boundsOf(),
      });
    }

    flowsFrom(drawn) {
      const { sharing } = this;
      const found = new Map();
      const waiting = [...drawn];
      while (waiting.length) {
        const [node, amps] = waiting.pop();
        if (!amps.n || sharing.notShared.has(node)) continue;
        for (const [source, part] of sharing.carriers(node)) {
          const given = part.times(amps);
          addedFlow(found, source, node, given);
          if (!sharing.inputs.has(source) || sharing.circular.has(source)) continue;
          for (const [origin, taken] of sharing.inputs.get(source)) waiting.push([origin, given.times(taken)]);
        }
      }
      return found;
    }

    flowsOfUnknown() {
      const { sharing } = this;
      const found = new Map();
      const waiting = [...this.unknownNodes, ...sharing.notShared.keys()];
      while (waiting.length) {
        const node = waiting.pop();
        for (const source of sharing.notShared.get(node) || sharing.state.carriers[node]) {
          if (found.has(source) && found.get(source).has(node)) continue;
          addedFlow(found, source, node, ONE);
          waiting.push(...(sharing.inputs.get(source) || new Map()).keys());
        }
      }
      return found;
    }

    /* Those that something unknown draws from. */
    isShort(source) { return this.unknownFlows.has(source); }

    /* What converters take through their live inputs: [branch, amps, certain, unknown]. */
    inputsOf() {
      const { sharing } = this;
      return [...sharing.inputs].flatMap(([converter, taken]) => {
        const origins = sharing.origins(converter);
        const drawnFrom = new Set(sharing.fedFrom(converter).map(([node]) => node));
        const circular = sharing.circular.has(converter);
        return sharing.live.get(converter).map((number, i) => [
          number,
          ((!circular && taken.get(origins[i])) || NOTHING).times(this.sources.get(converter)),
          origins.filter((node) => node === origins[i]).length === 1,
          drawnFrom.has(origins[i]) && (circular || this.isShort(converter)),
        ]);
      });
    }

    /* [passages, amps], added up wherever they take the same. */
    * passed(flows) {
      for (const [source, amounts] of flows) {
        yield* this.sharing.state.topology.addedUp(source, amounts, (one, other) => one.plus(other));
      }
    }

    /* By number of a branch that carries something, or may: {least, most, unknown}. Along the
    branch counts up, against it down: what two sources send each other's buses cancels. */
    boundsOf() {
      const branches = new Map();
      const at = (number) => {
        if (!branches.has(number)) {
          branches.set(number, { low: NOTHING, high: NOTHING, up: false, down: false });
        }
        return branches.get(number);
      };
      for (const [passages, amps] of this.passed(this.flows)) {
        for (const [number, { along, against, must }] of passages) {
          const branch = at(number);
          if (along) branch.high = branch.high.plus(amps);
          if (along && must) branch.low = branch.low.plus(amps);
          if (against) branch.low = branch.low.minus(amps);
          if (against && must) branch.high = branch.high.minus(amps);
        }
      }
      for (const [passages] of this.passed(this.unknownFlows)) {
        for (const [number, { along, against }] of passages) {
          const branch = at(number);
          branch.up ||= along;
          branch.down ||= against;
        }
      }
      const found = new Map();
      for (const [number, { low, high, up, down }] of branches) {
        found.set(number, {
          least: most(down ? NOTHING : low, up ? NOTHING : high.negative(), NOTHING),
          most: most(high, low.negative()),
          unknown: up || down,
        });
      }
      for (const [number, amps, certain, unknown] of this.inputs) {
        found.set(number, { least: certain ? amps : NOTHING, most: amps, unknown });
      }
      return found;
    }

    /* What passes a meter, [amps or null if not known, direction]: of a source what it gives, along
    the branches of a device the sum of its poles. The direction is 1 where enough to be seen flow out
    of the source or along the branches for certain, -1 against them, else 0. What has no figure is
    enough, but past the terminals of a battery. */
    measured({ source, branches }) {
      if (!branches.length) {
        if (this.isShort(source)) return [null, 1];
        const given = this.sources.get(source) || NOTHING;
        return [given, this.signOf(given)];
      }
      let total = NOTHING;
      let unsure = false;
      let certain = NOTHING;
      const trickle = directionsOf(this.sharing.net, "ammeter", { branches }).indexOf("charge side");
      const directions = new Set();
      for (const [used, amps] of this.flowsThrough(branches)) {
        for (const passage of used) {
          if (passage.along) directions.add(1);
          if (passage.against) directions.add(-1);
          if (passage.certain && (amps || ![passage.along, passage.against][trickle])) {
            certain = certain.plus(amps || ONE);
          }
          // Not known, or by several paths, or through several poles one after the other.
          if (!amps || !passage.must || used.length > 1) unsure = true;
          else total = passage.along ? total.plus(amps) : total.minus(amps);
        }
      }
      for (const [number, amps, alone, unknown] of this.inputs) {
        if (!branches.includes(number) || !(amps.n || unknown)) continue;
        directions.add(1);
        unsure ||= unknown || !alone;
        certain = certain.plus(unknown ? ONE : amps);
        total = total.plus(amps);
      }
      if (!unsure) return [total, this.signOf(total)];
      return [null, this.signOf(certain) && directions.size === 1 ? [...directions][0] : 0];
    }

    signOf(amps) { return amps.absolute().compare(this.seen) < 0 ? 0 : amps.compare(NOTHING); }

    /* [passages, amps] of what flows through any of these branches, null of what is unknown. */
    flowsThrough(branches) {
      if (branches.length === 1) {
        return (this.byBranch.get(branches[0]) || []).map(([passage, amps]) => [[passage], amps]);
      }
      // Whether one flow passes several poles is seen only on its whole path.
      const used = (source, node) => {
        const passages = this.sharing.state.topology.between(source, node);
        return branches.filter((i) => passages.has(i)).map((i) => passages.get(i));
      };
      return [
        ...[...eachFlow(this.flows)].filter(([, , amps]) => amps.n)
          .map(([source, node, amps]) => [used(source, node), amps]),
        ...[...eachFlow(this.unknownFlows)].map(([source, node]) => [used(source, node), null]),
      ];
    }
  }

  /* [item, its live supplies] of equipment that has the supply that it needs, and is not turned
  off; what it requires may be gone. */
  function suppliedIn(power, bit) {
    const found = [];
    power.fed.forEach((fed, e) => {
      if (power.shed.has(e)) return;
      const live = [...fed.keys()].filter((i) => bit(fed[i]));
      if (live.length && !(power.net.equipment[e].all && live.length < fed.length)) {
        found.push([e, live]);
      }
    });
    return found;
  }

  function ampsWith(sharing, supplied) {
    const drawn = [];
    for (const [e, live] of supplied) {
      const { figure } = sharing.loads[e];
      if (figure && !figure.n) continue;
      for (const [node, part] of sharing.draws(e, live)) {
        drawn.push([e, node, figure && part && part.times(figure)]);
      }
    }
    return new Amps(sharing, drawn, LEAST_SEEN);
  }

  const ampsOf = (power, k) => keptOf(power, `amps ${k}`, () => {
    const state = stateOf(power, k);
    return ampsWith(new Sharing(state), state.supplied);
  });

  /* By id of a source that produces, what it gives with all short-time figures at once, A. */
  function peaks({ net, after }, k = 0) {
    const state = stateOf(after, k);
    const sharing = new Sharing(state);
    sharing.loads = loadsIn(net, state.column, true);
    return new Map([...ampsWith(sharing, state.supplied).sources].map(([s, given]) => [net.nodes[s].id, given]));
  }

  const conditionOf = (outcome, k) =>
    known(outcome.net.condition, outcome.scenarios[k].condition, "condition");

  /* Who gives, carries and draws what, A. `atLeast`: something draws from there an amount that is
  not known, which no figure includes. `unknown` are the items, and converters that feed their own
  input, of which nothing follows. */
  function amps(outcome, k = 0) {
    const { net } = outcome;
    const found = ampsOf(outcome.after, k);
    const { sharing } = found;
    const { circular, inputs } = sharing;
    const byId = (entries) => Object.fromEntries(entries.map(([n, value]) => [net.nodes[n].id, value]));
    const taken = new Map([...inputs].map(([converter, from]) => [converter, new Map(
      circular.has(converter) ? [] : [...from].map(([node, part]) =>
        [node, part.times(found.sources.get(converter))]))]));
    const nodes = new Map([...found.at].filter(([, drawn]) => drawn.n));
    for (const of of taken.values()) for (const [node, drawn] of of) added(nodes, node, drawn);
    for (const node of found.shortNodes) if (!nodes.has(node)) nodes.set(node, NOTHING);
    const drawn = new Map(sharing.state.supplied.map(([e]) => [e, NOTHING]));
    const unknown = new Set([...drawn.keys()].filter((e) => !sharing.loads[e].figure));
    for (const [e, , drawnHere] of found.drawn) {
      if (drawnHere) added(drawn, e, drawnHere);
      else unknown.add(e);
    }
    const items = (all) => all.map((e) => net.equipment[e].id);
    return {
      sources: byId([...found.sources].map(([s, given]) => [s, {
        amps: given,
        percent: net.sources[s].amps ? given.times(HUNDRED).by(exact(net.sources[s].amps)) : null,
        atLeast: found.isShort(s),
      }])),
      converters: byId([...taken].map(([s, from]) => [s, {
        amps: sum([...from.values()]), atLeast: found.isShort(s) || circular.has(s),
      }])),
      nodes: byId([...nodes].map(([n, here]) => [n, {
        amps: here, atLeast: found.shortNodes.has(n),
      }])),
      drawn: Object.fromEntries([...drawn].filter(([e]) => !unknown.has(e)).map(
        ([e, total]) => [net.equipment[e].id, total])),
      unknown: sorted([...items([...unknown]), ...[...circular].map((s) => net.sources[s].id)]),
    };
  }

  // ---- Overload

  const worstOf = (poles) => poles.reduce((one, other) => ({
    least: most(one.least, other.least),
    most: most(one.most, other.most),
    unknown: one.unknown || other.unknown,
  }));

  /* By device in a feeder that conducts: {least, most, unknown}, what it carries for certain and
  could carry, A; of several poles, the one with most. `unknown`: `most` leaves something out. */
  const bounds = (outcome, k = 0) => boundsIn(outcome.net, ampsOf(outcome.after, k));

  function boundsIn(net, found) {
    const { feeds, state } = found.sharing;
    const inputs = new Set([...feeds.values()].flat());
    const byDevice = {};
    net.branches.forEach(({ intoConverter, through }, i) => {
      if (!state.conducts(i) || (intoConverter && !inputs.has(i))) return;
      const here = found.branchBounds.get(i) || { least: NOTHING, most: NOTHING, unknown: false };
      for (const d of through) {
        const { id } = net.devices[d];
        byDevice[id] = byDevice[id] ? worstOf([here, byDevice[id]]) : here;
      }
    });
    return byDevice;
  }

  /* By device that is over a limit: its word, `must` or `may`, and what it carries at least as a
  share of the limit of `must`. */
  function overLimits(net, found) {
    const over = new Map();
    for (const [d, { may, must, feeders }] of limitsOf(net)) {
      // A device in several feeders counts at its worst: each pole is judged by itself.
      const poles = feeders.filter((i) => found.branchBounds.has(i)).map((i) => found.branchBounds.get(i));
      if (!poles.length) continue;
      const certain = most(...poles.map(({ least }) => least)).rounded(PLACES);
      const possible = most(...poles.map((pole) =>
        (pole.unknown ? pole.least : pole.most).rounded(PLACES)));
      if (certain.compare(must) >= 0) over.set(d, { word: "must", share: certain.by(must) });
      else if (possible.compare(may) >= 0) over.set(d, { word: "may" });
    }
    return over;
  }

  const normallyOver = (net, c) => keptOf(net, `over ${c}`, () =>
    overLimits(net, ampsOf(net.before[c], 0)));

  /* What is over its limit and was less so in the condition; what is failed stuck closed can't
  open. `power` is the outcome's, or what the failure alone left. */
  function canOpen(outcome, k, power = outcome.after) {
    const { net } = outcome;
    const stuck = new Set((outcome.scenarios[k].failed || []).filter(
      ([, mode]) => mode === "stuck-closed").map(([id]) => net.device.get(id)));
    const before = normallyOver(net, conditionOf(outcome, k));
    return [...overLimits(net, ampsOf(power, k))].filter(([d, { word }]) =>
      !stuck.has(d) && !(before.has(d) && ["must", word].includes(before.get(d).word)));
  }

  const mustOpen = (outcome, k, power) =>
    canOpen(outcome, k, power).filter(([, { word }]) => word === "must");

  /* By id of what is overloaded: `must` or `may`. */
  const overloaded = (outcome, k = 0) => Object.fromEntries(canOpen(outcome, k)
    .map(([d, { word }]) => [outcome.net.devices[d].id, word])
    .sort(([one], [other]) => (one < other ? -1 : 1)));

  /* One stage of answer 3, from the same stage of the answer to expect: [outcome, the ids that overload has
  opened]. Of all that must open the one furthest over its limit opens, what is as near together
  with it; the faults and the switching devices follow, until nothing must open any more. For an
  outcome of one scenario; the crew acts on what this left, `engine.afterTheCrew`. */
  function openByOverload(outcome, record = null) {
    if (outcome.scenarios.length > 1) throw new Error("one scenario");
    const { net } = outcome;
    const opened = new Set();
    for (;;) {
      const must = mustOpen(outcome, 0);
      if (!must.length) return [outcome, opened];
      const limit = most(...must.map(([, { share }]) => share)).times(TOGETHER);
      const { steady, shed } = outcome.after;
      const start = engine.copyOf(engine.positionsOf(steady));
      for (const [d, { share }] of must) {
        if (share.compare(limit) < 0) continue;
        start.opened[d] |= 1;
        opened.add(net.devices[d].id);
      }
      const after = engine.powerOf(engine.runStage(net, steady.set, start, outcome.dip, record), shed);
      outcome = engine.outcomeOf({ ...outcome, after });
    }
  }

  /* Answer 3 of a scenario from an outcome of it, at once or after the crew has acted: what is overloaded
  opens. Null if nothing must. The crew acts on what overload left, and it is judged again once. */
  function whatIsOverloadedOpens(outcome, k = 0) {
    const { net, scenarios, then, after, atOnce = after, dip } = outcome;
    if (!mustOpen(outcome, k).length && !mustOpen(outcome, k, atOnce).length) return null;
    const [opened] = openByOverload(engine.solve(net, [scenarios[k]], { dip }));
    return then ? openByOverload(engine.afterTheCrew(opened, then))[0] : opened;
  }

  /* [record, what it carries] of the sources, and the devices in feeders, that have a rating. */
  function rated(net, found) {
    const sources = [...found.sources].map(([s, given]) =>
      [net.sources[s], { least: given, most: given, unknown: found.isShort(s) }]);
    const devices = Object.entries(boundsIn(net, found)).map(([id, carried]) =>
      [net.devices[net.device.get(id)], carried]);
    return [...sources, ...devices].filter(([record]) => record.amps);
  }

  /* By what carries more than its rating, and more than with nothing failed: {percent, bound,
  allowedFor}. `bound` is `at least` where something unknown draws, `up to` where the current has
  several paths, or empty. `allowedFor`, of a source: the longest short-time rating that covers it,
  `no time`, or empty. */
  function overRating(outcome, k = 0) {
    const { net } = outcome;
    const c = conditionOf(outcome, k);
    const before = keptOf(net, `rated ${c}`, () => new Map(
      rated(net, ampsOf(net.before[c], 0)).map(([{ id }, carried]) => [id, carried.most])));
    const over = {};
    for (const [record, carried] of rated(net, ampsOf(outcome.after, k))) {
      const { id, amps5min, amps5s } = record;
      const given = carried.unknown ? carried.least : carried.most;
      const isOver = given.compare(exact(record.amps)) > 0;
      if (!isOver || given.compare(before.get(id) || NOTHING) <= 0) continue;
      const within = (limit) => limit && given.compare(exact(limit)) <= 0;
      const covered = within(amps5min) ? "5 minutes" : within(amps5s) ? "5 seconds" : "";
      const bound = carried.least.compare(given) < 0 ? "up to" : "";
      over[id] = {
        percent: given.times(HUNDRED).by(exact(record.amps)),
        bound: carried.unknown ? "at least" : bound,
        // More than these amps may flow, where they are the least.
        allowedFor: covered ? (carried.unknown ? "" : covered)
          : amps5min || amps5s ? "no time" : "",
      };
    }
    return over;
  }

  // ---- What meters show, and how far from it a healthy aircraft may be

  /* The ends of the ranges of volts that may differ in what amps follow: all sources at the bottom (0)
  or at the top (1); or all but converters, which are at the other end (2, 3). */
  function rangeEnds(net) {
    const kinds = new Set(net.sources.filter((s) => s.range).map((s) => s.kind === "converter"));
    return kinds.size === 2 ? [0, 1, 2, 3] : kinds.size ? [0, 1] : [0];
  }

  /* Those of some sources that are at the top, the others at the bottom: in every way, the fewest first;
  of more than four none, all, one, and all but one. */
  const atTopInTurn = (sources) => (sources.length > 4
    ? [[], sources, ...sources.map((s) => [s]), ...sources.map((one) => sources.filter((s) => s !== one))]
    : sources.reduceRight((all, s) => [...all.map((top) => [s, ...top]), ...all], [[]])
      .sort((one, other) => one.length - other.length));

  const endOf = (kind, end) => (end & 1) ^ (kind === "converter" ? end >> 1 : 0);

  /* Whether nothing says how sources share: one has no rating, or its power does not reach another's
  terminals. */
  const inAnyWay = ({ net, power, bit }, sharing) => sharing.length > 1 && !sharing.every((s) =>
    net.sources[s].amps && sharing.every((one) => bit(power.reach[one][s])));

  /* [state, by node what amps follow, mV] with its sources anywhere in their ranges, each by itself,
  and a load that sources share, one of them without a rating or behind a diode, on any of them.
  Who carries what is worked out anew from what they offer at the ends: each at either end; of more
  than four all at the bottom, all at the top, one at the top and the others at the bottom, one at
  the bottom and the others at the top. However these divide the load, the amps that follow volts go by
  those of what carries, at the bottom and at the top, or with each at either end by itself. No device switches, and what has a supply with the volts that it needs
  is as at nominal volts. */
  function statesInRange(state, eachByItself) {
    const { net, power, producing } = state;
    const offeredAt = (n) => producing.flatMap((s) => power.offered[s][n]
      .filter(([, where]) => state.bit(where)).map(([level]) => [s, level]));
    const change = (s, end) => (net.sources[s].range
      ? net.sources[s].range[end] - net.sources[s].millivolts : 0);
    // A source that carries nothing at its own terminals, however it moves, carries nothing
    // elsewhere: what holds these up reaches all that it reaches.
    const mayCarry = (source) => offeredAt(source).every(([s, level]) => s === source
      || level + change(s, 0) - net.sources[source].range[1] <= engine.SHARING);
    const moving = producing.filter((s) => net.sources[s].range && mayCarry(s));
    const loose = new Set(state.carriers.filter((sharing) => inAnyWay(state, sharing)).flat());
    const apart = producing.filter((s) => moving.includes(s) || loose.has(s));
    if (!apart.length) return [];
    const offers = net.nodes.map((_, n) => offeredAt(n));
    const voltsWith = (top) => offers.map((here) => here.map(([s, level]) =>
      Math.max(0, level + (moving.includes(s) ? change(s, top.includes(s) ? 1 : 0) : 0))));
    // Two states divide loads in the same way if the same carry, and the same volts are higher, and
    // near to these.
    const divisionOf = ({ shown, carriers, parts = carriers }) => {
      const volts = [...shown, ...net.branches.flatMap(({ intoConverter, origin }, i) =>
        (intoConverter ? [Math.max(0, shown[origin] - state.dropOf(i))] : []))];
      const ranks = [...new Set(volts)].sort((a, b) => a - b);
      const near = (mv) => ranks.findIndex((rank) => rank >= mv - engine.SHARING);
      return JSON.stringify([carriers, parts, volts.map((mv) => [ranks.indexOf(mv), near(mv)])]);
    };
    const divided = new Map([[divisionOf(state), state]]);
    for (const top of atTopInTurn(apart)) {
      const volts = voltsWith(top);
      const shown = volts.map((here) => Math.max(0, ...here));
      const whole = offers.map((here, n) => here.map(([s]) => s)
        .filter((_, i) => shown[n] - volts[n][i] <= engine.SHARING));
      // Then those at the top carry it all.
      const parts = whole.map((sharing) => {
        const some = inAnyWay(state, sharing) ? sharing.filter((s) => top.includes(s)) : [];
        return some.length ? some : sharing;
      });
      // What shares with a battery does not charge it.
      const carriers = parts.map((part, n) => (whole[n].includes(n) ? whole[n] : part));
      const moved = Object.create(state,
        { shown: { value: shown }, carriers: { value: carriers }, parts: { value: parts } });
      const division = divisionOf(moved);
      if (!divided.has(division)) divided.set(division, moved);
    }
    const [converters, others] = [true, false].map((is) => moving.filter((s) => (net.sources[s].kind === "converter") === is));
    const ends = (eachByItself ? atTopInTurn(others).flatMap((top) => [top, [...top, ...converters]])
      : rangeEnds(net).map((end) => moving.filter((s) => endOf(net.sources[s].kind, end)))).map(voltsWith);
    return [...divided.values()].flatMap((one) => {
      const followed = ends.map((volts) => offers.map((here, n) => Math.max(0,
        ...volts[n].filter((_, i) => (one.parts || one.carriers)[n].includes(here[i][0])))));
      return [...new Map(followed.map((volts) => [String(volts), volts])).values()]
        .filter((volts) => one !== state || String(volts) !== String(state.shown))
        .map((volts) => [one, volts]);
    });
  }

  /* What all of them measure, A; null is not known. */
  function measuredBy(meters, amps) {
    const found = meters.map((meter) => {
      const [one] = amps.measured(meter);
      return one && meter.against ? one.negative() : one;
    });
    return found.includes(null) ? null : sum(found);
  }

  /* By battery whose terminals others hold up: the least and the most that it takes, A. */
  const chargingIn = (state) => state.producing.flatMap((s) => {
    const span = state.net.sources[s].chargeAmps;
    const carriers = state.carriers[s];
    return span && carriers.length && !carriers.includes(s) ? [[s, span.map(exact)]] : [];
  });

  /* The batteries that others charge, ids. */
  const charged = ({ net, after }, k = 0) => chargingIn(stateOf(after, k))
    .filter(([, [, top]]) => top.n).map(([s]) => net.sources[s].id);

  /* What flows and what varies in one state, with every source at certain volts. */
  class AtVolts {
    constructor(computed) {
      const { sharing } = computed;
      const { state } = sharing;
      this.computed = computed;
      this.sharing = sharing;
      this.ofOne = new Map();
      this.ones = new Map();
      this.charging = chargingIn(state);
      this.divided = this.anyDivision();
      this.anyInputs = new Map([...sharing.inputs.keys()].map((c) => [c, sharing.anyInput(c)])
        .filter(([, each]) => each.size));
      const gives = [...this.anyInputs].filter(([c]) => computed.sources.get(c).n);
      // The nodes at which what is drawn varies, or is drawn elsewhere instead.
      this.varying = new Set([
        ...this.divided.flat().flatMap((of) => [...of.keys()]),
        ...gives.flatMap(([c, each]) => [...each.keys(), ...sharing.inputs.get(c).keys()]),
        ...this.charging.map(([battery]) => battery),
      ]);
      // The nodes that several sources carry, sharing by rating.
      this.shared = [...state.carriers.keys()].filter((node) => state.carriers[node].length > 1
        && !sharing.notShared.has(node) && !inAnyWay(state, state.carriers[node]));
    }

    /* Of equipment that may draw from several nodes: by node what it draws, and what from each if all there, A.
    Where one supply is enough, and the nodes are no further apart than sources that share, any of
    them may supply all of it. */
    anyDivision() {
      const { sharing, computed } = this;
      const times = (amps, parts) => new Map([...parts].map(([n, part]) => [n, amps.times(part)]));
      const found = [];
      for (const [e, live] of sharing.state.supplied) {
        const { figure } = sharing.loads[e];
        if (!figure || !figure.n) continue;
        const each = sharing.anySupply(e, live);
        if (!each.size) continue;
        const taken = new Map();
        for (const [node, part] of sharing.draws(e, live)) added(taken, node, part || NOTHING);
        found.push([times(figure, taken), times(figure, each)]);
      }
      return found;
    }

    /* The direction in which current flows at a meter for certain, 1 or -1, else 0. What may draw
    from several nodes may take nothing there: it is left out, and none of it may flow the other way. */
    direction(meter) {
      const { sharing, computed } = this;
      const elsewhere = new Set();
      const converters = new Set();
      for (const converter of sharing.inputs.keys()) {
        const gives = computed.isShort(converter) || computed.sources.get(converter).n;
        const each = gives ? sharing.anyInput(converter) : new Map();
        if (each.size) converters.add(converter);
        for (const node of each.keys()) elsewhere.add(node);
      }
      const rest = new Map(sharing.state.supplied);
      for (const [e, live] of sharing.state.supplied) {
        const { figure } = sharing.loads[e];
        if (figure && !figure.n) continue;
        const each = sharing.anySupply(e, live);
        for (const node of each.keys()) elsewhere.add(node);
        const fedByOne = converters.size && live.some((i) =>
          [...eachFlow(sharing.flows(sharing.net.supplies[e][i].bus))].some(([s]) => converters.has(s)));
        if (each.size || fedByOne) rest.delete(e);
      }
      const [, direction] = ampsWith(sharing, rest).measured(meter);
      const same = [...elsewhere].every((node) => {
        const [amps, d] = this.oneAmp(node).measured(meter);
        return d === direction || (amps && !d);
      });
      return same ? direction : 0;
    }

    /* What flows where one ampere is drawn at a node, and nothing else. */
    oneAmp(node) {
      if (!this.ones.has(node)) this.ones.set(node, new Amps(this.sharing, [[null, node, ONE]]));
      return this.ones.get(node);
    }

    /* What passes meters of one ampere drawn at a node; null is not known. */
    ofOneAmp(node, meters) {
      const key = `${node} ${meters.map((meter) => meter.at)}`;
      if (!this.ofOne.has(key)) {
        this.ofOne.set(key, measuredBy(meters, this.oneAmp(node)));
      }
      return this.ofOne.get(key);
    }

    /* The least and the most that meters may show; null is not known. */
    ends(meters) {
      const computed = measuredBy(meters, this.computed);
      if (!computed || [...this.varying].some((node) => !this.ofOneAmp(node, meters))) return null;
      const bounds = [...this.bounds(meters)];
      const [low, high] = [0, 1].map((end) => bounds.map(([more]) => this.endWith(meters, computed, more, end)));
      return [
        most(...low.map((amps, i) => amps.minus(bounds[i][1][0]))),
        least(...high.map((amps, i) => amps.plus(bounds[i][1][1]))),
      ];
    }

    /* The least (0) or the most (1), if meters show this more of an ampere than computed. */
    endWith(meters, computed, more, end) {
      const pick = END_OF[end];
      const amounts = [computed];
      for (const [node, amps] of this.computed.at) {
        if (more.at(node, end).n) amounts.push(amps.times(more.at(node, end)));
      }
      const shown = (node) => this.ofOneAmp(node, meters).plus(more.at(node, end));
      for (const [battery, span] of this.charging) {
        const own = ratio(this.shown(meters, battery, battery), 1);
        amounts.push(pick(...span.map((amps) => amps.times(shown(battery).minus(own)))));
      }
      for (const [taken, each] of this.divided) {
        const passing = (parts) => [...parts].map(([node, amps]) => amps.times(shown(node)));
        amounts.push(pick(...passing(each)).minus(sum(passing(taken))));
      }
      return sum(amounts);
    }

    /* The nodes from which a converter takes what it does through these branches. */
    meteredInputs(converter, branches) {
      const { live, net } = this.sharing;
      return new Set(live.get(converter).filter((i) => branches.includes(i)).map((i) => net.branches[i].origin));
    }

    /* How much of an ampere that a source gives at a node meters show, a whole number. */
    shown(meters, source, node) {
      return meters.reduce((total, { source: at, branches, against }) => {
        const passages = branches.length ? this.sharing.state.topology.between(source, node) : new Map();
        const along = branches.filter((i) => passages.has(i)).map((i) => passages.get(i))
          .reduce((amps, passage) => amps + passage.along - passage.against, Number(at === source));
        return against ? total - along : total + along;
      }, 0);
    }

    /* What bounds meters while sources do not share by rating, [MoreOfOneAmp, by how much they may show
    less, and more, A]: by what the sources may be off, and by what there is to share. Of what sources
    share where the meters are, and of what converters share downstream, either may be the closer one. */
    * bounds(meters) {
      const off = this.off(meters);
      for (const anySource of off.n ? [false, true] : [false]) {
        for (const anyConverter of [false, true]) {
          const more = new MoreOfOneAmp(this, meters, anySource, anyConverter);
          const besides = [0, 1].map((end) => (anyConverter ? NOTHING
            : sum(this.together().map((sources) => this.offUpstream(sources, more, end)))));
          yield [more, besides.map((amps) => (anySource ? amps : amps.plus(off)))];
          if (!besides.some(({ n }) => n)) break;
        }
      }
    }

    /* The sources that share, each with all that it shares with, from node to node, a converter among
    them: what one gives more the others give less. */
    together() {
      const { carriers } = this.sharing.state;
      const found = this.shared.reduce((sets, node) => {
        const meet = (sources) => sources.some((s) => carriers[node].includes(s));
        return [...sets.filter((sources) => !meet(sources)),
          [...new Set([carriers[node], ...sets.filter(meet)].flat())]];
      }, []);
      return found.filter((sources) => sources.some((s) => this.sharing.inputs.has(s)));
    }

    error(sources) {
      return sum([...sources].map((s) => exact(this.sharing.net.sources[s].amps || 0)))
        .by(new Fraction(BigInt(SHARING_ERROR)));
    }

    /* By how much meters are off as converters among these take more or less than by rating, A. As what
    all of them give more adds up to nothing, any amount may be taken off what meters show of an ampere
    of each: the least that is left of all bounds it. */
    offUpstream(sources, more, end) {
      const shown = sources.map((s) => [this.error([s]), more.ofConverter(s, end)]);
      return least(...shown.flatMap(([, all]) => all).map((ofAll) => sum(shown.map(([error, all]) =>
        error.times(most(...all.map((one) => one.minus(ofAll).absolute())))))));
    }

    /* How far meters are off while sources give more or less than by rating, A: what passes a branch
    varies with the sources on one side of it, and no more than those on the other can make up for; what
    several sources give, no more than with the others. */
    off(meters) {
      const sides = [new Set(), new Set()];
      for (const node of this.shared) {
        const shown = this.sharing.state.carriers[node].map((s) => [s, this.shown(meters, s, node)]);
        // Of what all passes here, however it is shared, nothing varies.
        if (shown.every(([, amps]) => amps === shown[0][1])) continue;
        for (const [s, amps] of shown) {
          if (meters.length > 1 ? !amps : amps > 0) sides[0].add(s);
          else if (amps < 0) sides[1].add(s);
        }
      }
      const errors = sides.filter((side) => side.size).map((side) => this.error(side));
      return errors.length ? least(...errors) : NOTHING;
    }
  }

  /* How much more meters show of an ampere drawn at a node than computed, at the least (0) and at the
  most (1). A converter may take all from any input. Sources share by rating, or in any way: all, as
  far as the meters show what they give; converters, as far as these show what they take. */
  class MoreOfOneAmp {
    constructor(varying, meters, anySource, anyConverter) {
      Object.assign(this, { varying, meters, anySource, anyConverter, found: [new Map(), new Map()], round: [new Map(), new Map()], within: new Set() });
    }

    /* Converters that may feed each other cannot all take all from one another: what comes round to a
    node adds nothing there, which is true of that node alone. */
    at(node, end) {
      const { found, round, within } = this;
      if (within.has(node)) {
        this.looped = true;
        return NOTHING;
      }
      if (found[end].has(node)) return found[end].get(node);
      if (!within.size && round[end].has(node)) return round[end].get(node);
      within.add(node);
      const more = this.work(node, end);
      within.delete(node);
      if (!this.looped) found[end].set(node, more);
      else if (!within.size) {
        round[end].set(node, more);
        this.looped = false;
      }
      return more;
    }

    work(node, end) {
      const { sharing } = this.varying;
      if (sharing.notShared.has(node)) return NOTHING;
      const pick = END_OF[end];
      const parts = [...sharing.carriers(node)];
      const byRating = (all) => sum(all.map((one, i) => one.times(parts[i][1])));
      const here = inAnyWay(sharing.state, parts.map(([s]) => s));
      const shown = parts.map(([s]) => ratio(this.anySource || here ? this.varying.shown(this.meters, s, node) : 0, 1));
      const more = parts.length > 1 ? pick(...shown).minus(byRating(shown)) : NOTHING;
      if (!parts.some(([s]) => sharing.inputs.has(s))) return more;
      const taken = parts.map(([s]) => pick(...this.ofConverter(s, end)));
      return more.plus(this.anyConverter || here ? pick(...taken) : byRating(taken))
        .minus(byRating(parts.map(([s]) => this.ofConverter(s)[0])));
    }

    /* What meters may show of what a source takes while it gives an ampere: of a converter, by the nodes
    from which it may take all. */
    ofConverter(source, end) {
      const { anyInputs, sharing: { inputs, circular } } = this.varying;
      const each = end !== undefined && anyInputs.get(source);
      const taken = [...(each || (!circular.has(source) && inputs.get(source)) || [])].map(([node, amps]) =>
        amps.times(this.atInput(source, node, end)));
      return each ? taken : [sum(taken)];
    }

    /* Of an ampere that a converter takes at a node; with no end, as computed. */
    atInput(converter, node, end) {
      const { varying, meters } = this;
      const own = meters.filter(({ branches }) => varying.meteredInputs(converter, branches).has(node));
      return sum([varying.ofOneAmp(node, meters) || NOTHING, ratio(own.length, 1),
        end === undefined ? NOTHING : this.at(node, end)]);
    }
  }

  /* What varies in one state: the volts of each source in its range and with them who carries what,
  what batteries charge, and how sources share. A meter may show anything from the least to the most
  over all states of the volts. No switching device moves with any of it. */
  class Variations {
    constructor(computed) {
      const { state } = computed.sharing;
      this.nominal = new AtVolts(computed);
      const statesOf = (eachByItself) => [this.nominal, ...statesInRange(state, eachByItself).map(
        ([moved, volts]) => new AtVolts(ampsWith(new Sharing(moved, volts), state.supplied)))];
      this.states = statesOf(false);
      // Of meters of several sources one may show more while the other shows less.
      this.apart = engine.once(() => statesOf(true));
    }

    /* What flows at a meter, {amps, least, most}; null is not known. Of several the sum. */
    flow(...meters) {
      const amps = measuredBy(meters, this.nominal.computed);
      const ends = amps ? (meters[1] ? this.apart() : this.states).map((state) => state.ends(meters)) : [null];
      if (ends.includes(null)) return null;
      return {
        amps, least: least(...ends.map(([low]) => low)), most: most(...ends.map(([, high]) => high)),
      };
    }

    /* Whether current flows for certain, in one direction in all states. */
    oneDirection(meter) {
      if (this.nominal.sharing.notShared.size) return false;
      const directions = new Set(this.states.map((state) => state.direction(meter)));
      return directions.size === 1 && !directions.has(0);
    }
  }

  /* By indication, what it shows: {kind, number, unit, direction, band}. `kind` is `figure`, `load`
  (current flows, how much is not known), `not known`, `blank` (no power of its own), `lit`,
  `unlit` or `lit or unlit`. A figure may be anything from the first to the second of its band. */
  function readings(outcome, k = 0) {
    const power = outcome.after;
    const { net } = outcome;
    const bit = (mask) => (mask >>> k) & 1;
    const varying = () => variationsOf(power, k);
    return Object.fromEntries(net.indications.map((indication, number) => {
      const { id, kind } = indication;
      let shown;
      if (!bit(engine.indicationPower(power, number))) shown = { kind: "blank" };
      else if (kind === "lamp" || kind === "flag") {
        shown = { kind: engine.lampShown(power, indication, k) };
      } else if (kind === "voltmeter") shown = voltsShown(power, k, net.node.get(indication.at));
      else shown = currentShown(net, indication, varying());
      return [id, { number: 0, unit: "", direction: null, band: null, ...shown }];
    }));
  }

  function banded(number, low, high, unit, direction = null) {
    return {
      kind: "figure", number: Math.min(Math.max(number, low), high), unit, direction,
      band: low === high ? null : [low, high],
    };
  }

  /* The node is at the volts of its highest source, less diodes, each anywhere in its range. */
  function voltsShown(power, k, node) {
    const { net } = power;
    const at = (levels) => levels.find(([, mask]) => (mask >>> k) & 1);
    const shown = at(power.levels[node]);
    if (!shown) return { kind: "figure", unit: "V" };
    const ends = net.sources.some((s) => s.range) ? [0, 0] : [shown[0], shown[0]];
    net.sources.forEach(({ range, millivolts }, s) => {
      const offered = at(power.offered[s][node]);
      if (!offered) return;
      ends.forEach((most, end) => {
        ends[end] = Math.max(most, offered[0] + (range ? range[end] - millivolts : 0));
      });
    });
    return banded(shown[0] / 1000, ends[0] / 1000, ends[1] / 1000, "V");
  }

  /* What a meter shows: its unit and, of a loadmeter or ammeter, how much of it one amp is. */
  function scaleOf(net, { kind, at }) {
    if (kind === "voltmeter") return { unit: "V", share: ONE };
    const rated = (net.sources[net.node.get(at)] || net.devices[net.device.get(at)] || {}).amps;
    return kind === "loadmeter" && rated
      ? { unit: "%", share: HUNDRED.by(exact(rated)) } : { unit: "A", share: ONE };
  }

  /* A reading in words, as the package prints it: `22 to 25.2 V`, `35 A discharge`. */
  function readingText({ kind, number, unit, band, direction }, gap = " ") {
    if (kind !== "figure") return kind;
    const figure = `${(band || [number]).map(short).join(" to ")}${gap}${unit}`;
    if (band && direction === "charge side") return `charging, ${figure}`;
    return direction ? `${figure} ${direction}` : figure;
  }

  /* A figure to six digits, without zeros at its end. */
  const short = (figure) => String(Number(figure.toPrecision(6)));

  /* What flows at a loadmeter or ammeter: {flow, flowing, forwards}; `flow` {amps, least, most}, null
  where it is not known, then `flowing` whether some flows; `forwards` the direction along it. */
  function flowAt(power, k, { kind, at }) {
    const { net } = power;
    const meter = meterAt(net, at);
    const varying = variationsOf(power, k);
    const flow = varying.flow(meter);
    return {
      flow, flowing: !flow && varying.oneDirection(meter),
      forwards: directionsOf(net, kind, meter)[0],
    };
  }

  /* What flows through several meters, {amps, least, most}; null where it is not known. */
  const flowOfAll = (power, k, meters) => variationsOf(power, k).flow(...meters);

  const meterAt = (net, at) => ({ at, source: net.node.get(at), branches: branchesWith(net, at) });

  const directionsAt = (net, { kind, at }) => directionsOf(net, kind, meterAt(net, at));

  const variationsOf = (power, k) => keptOf(power, `varying ${k}`, () =>
    new Variations(ampsOf(power, k)));

  function currentShown(net, { kind, at }, varying) {
    const meter = meterAt(net, at);
    const flow = varying.flow(meter);
    if (!flow) return { kind: varying.oneDirection(meter) ? "load" : "not known" };
    const { unit, share } = scaleOf(net, { kind, at });
    const [number, low, high] = [flow.amps, flow.least, flow.most].map(
      (one) => one.times(share).absolute().whole);
    if (flow.least.n < 0n && flow.most.n > 0n) return banded(number, 0, Math.max(low, high), unit);
    const direction = low || high ? directionsOf(net, kind, meter)[flow.most.n > 0n ? 0 : 1] : null;
    return banded(number, Math.min(low, high), Math.max(low, high), unit, direction);
  }

  /* What an ammeter at a battery or in its feeder shows of current along it, and against it. */
  function directionsOf(net, kind, { source, branches }) {
    const isBattery = (n) => Boolean(net.sources[n]) && net.sources[n].kind === "battery";
    if (kind !== "ammeter") return [null, null];
    if (source !== undefined && isBattery(source)) return ["discharge", "charge side"];
    if (branches.length !== 1) return [null, null];
    const { origin, target } = net.branches[branches[0]];
    if (isBattery(origin) === isBattery(target)) return [null, null];
    return isBattery(origin) ? ["discharge", "charge side"] : ["charge side", "discharge"];
  }

  return {
    Fraction, exact, amps, charged, bounds, overloaded, openByOverload, whatIsOverloadedOpens, overRating,
    peaks, readings, atTopInTurn,
    // For diagnosis.js, possible-amps.js and instruments.js.
    voltsShown, flowAt, flowOfAll, meterAt, directionsAt, scaleOf, readingText, short,
    // For endurance.js, which adds `endurance`.
    NOTHING, Sharing, added, ampsOf, columnOf, conditionOf, keptOf, least, loadsIn, most, overLimits,
    ratio, stateOf, sum,
  };
})();
