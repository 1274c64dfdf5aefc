/* Bounds for what a source gives, in a word of scenarios at once.

As the package's possible_amps.py: to know what a source gives, the state of each scenario has to be
worked out; here amounts are added up by mask. The sums are bounds, what is certainly drawn from the
source and the most that may be: where they exclude a reading it can't be, and where they don't the
state has to be asked. Figures are plain numbers, rounded away from what would exclude. Classic
script after figures.js; it leaves one name, `possibleAmps`. */
"use strict";

const possibleAmps = (() => {
  const STEPS = 64; // amps are counted in this part of an ampere
  const SLACK = 1e-6; // by this much, and more, a plain number may be off
  const SHARING_ERROR = 10;
  const { keptOf, loadsIn, columnOf } = figures;

  const up = (amps) => Math.ceil(amps * STEPS * (1 + SLACK) + SLACK);
  const down = (amps) => Math.max(0, Math.floor(amps * STEPS * (1 - SLACK) - SLACK));
  const number = (fraction) => Number(fraction.n) / Number(fraction.d);

  /* A whole number in every scenario of a word; plane i has bit i of all of them. */
  class Total {
    constructor(every) {
      this.every = every;
      this.planes = [];
    }

    add(mask, amount) {
      if (!mask) return;
      const { planes } = this;
      let carry = 0;
      let left = amount;
      for (let i = 0; left || carry; i++) {
        if (i === planes.length) planes.push(0);
        const plane = planes[i];
        const addend = left % 2 ? mask : 0;
        planes[i] = plane ^ addend ^ carry;
        carry = (plane & (addend | carry)) | (addend & carry);
        left = Math.floor(left / 2);
      }
    }

    /* The scenarios in which the number is that or more. */
    atLeast(least) {
      const { planes } = this;
      if (least <= 0) return this.every;
      if (least >= 2 ** planes.length) return 0;
      let above = 0;
      let equal = this.every;
      for (let i = planes.length - 1; i >= 0; i--) {
        if (Math.floor(least / 2 ** i) % 2) equal &= planes[i];
        else {
          above |= equal & planes[i];
          equal &= ~planes[i];
        }
      }
      return above | equal;
    }
  }

  class NotBounded extends Error {}

  /* The scenarios in which a source may give between `least` and `most` amps; those in which
  something without a figure draws are among them. */
  function possible(power, source, least, most) {
    try {
      return new Bounds(power, source).between(least, most);
    } catch (error) {
      if (error instanceof NotBounded) return power.steady.set.all;
      throw error;
    }
  }

  /* The scenarios in which a battery may take charge from other sources. */
  function charges(power, battery) {
    if (!power.net.sources[battery].chargeAmps) return 0;
    const { may, always } = carrying(power, battery);
    const others = may.reduce((all, mask, s) => (s === battery ? all : all | mask), 0);
    return power.steady.produces[battery] & others & ~always[battery];
  }

  /* By source, the scenarios in which it may carry a node, and those in which it always does, each
  source anywhere in its range, by itself; and those in which it depends on that who carries it. */
  const carrying = (power, node) => keptOf(power, `carrying ${node}`, () => {
    const { net, offered, carriers } = power;
    const reaching = [...net.sources.keys()].filter((s) => offered[s][node].length);
    if (!reaching.some((s) => net.sources[s].range)) {
      return { may: carriers[node], always: carriers[node], varying: inAnyWay(power, carriers[node]) };
    }
    const ends = reaching.flatMap((s) => offered[s][node].map(([level, where]) => {
      const [low, high] = movedOf(net)[s].map((moved) => Math.max(0, level + moved));
      return { s, where, low, high };
    }));
    const may = net.sources.map(() => 0);
    const always = net.sources.map(() => 0);
    for (const one of ends) {
      may[one.s] |= one.where;
      always[one.s] |= one.where;
    }
    for (const one of ends) {
      for (const other of ends) {
        if (one.s === other.s) continue;
        if (other.low - one.high > engine.SHARING) may[one.s] &= ~(one.where & other.where);
        if (other.high - one.low > engine.SHARING) always[one.s] &= ~(one.where & other.where);
      }
    }
    const varying = may.reduce((all, mask, s) => all | (mask & ~always[s]), inAnyWay(power, may));
    return { may, always, varying };
  });

  /* Where several may carry a node and how they divide it is not known: one has no rating, or its
  power does not reach the terminals of another. */
  function inAnyWay({ net, reach }, may) {
    let found = 0;
    may.forEach((mask, s) => may.forEach((other, t) => {
      if (s !== t) found |= mask & other & (net.sources[s].amps ? ~reach[s][t] : -1);
    }));
    return found;
  }

  const mayCarry = (power, node) => carrying(power, node).may;

  const movedOf = (net) => keptOf(net, "moved", () => net.sources.map(({ range, millivolts }) =>
    (range ? range.map((end) => end - millivolts) : [0, 0])));

  const inputsOf = (net) => keptOf(net, "inputs", () => net.sources.map((_, s) =>
    net.branches.filter((b) => b.intoConverter && b.target === s)));

  const mostVolts = (net) => keptOf(net, "most volts", () => Math.max(...net.sources.map(
    ({ millivolts }, s) => millivolts + Math.max(0, movedOf(net)[s][1]))));

  /* By equipment, what it draws in a column: null if not known, else [all, [of each supply]]. */
  const amountsIn = (net, column) => keptOf(net, `amounts ${column}`, () =>
    loadsIn(net, column).map(({ figure, each }) => {
      const ofEach = (each || []).map(number);
      return figure && [number(figure), ofEach.some(Boolean) ? ofEach : null];
    }));

  class Bounds {
    constructor(power, source) {
      this.power = power;
      this.net = power.net;
      this.source = source;
      this.direct_ = new Map();
      this.through_ = new Map();
      const converters = [...this.net.sources.keys()].filter((s) => this.isConverter(s));
      const feeding = (s) => inputsOf(this.net)[s].flatMap(({ origin }) =>
        converters.filter((other) => mayCarry(power, origin)[other]));
      for (const s of converters) {
        const reached = new Set();
        const waiting = feeding(s);
        while (waiting.length) {
          const one = waiting.pop();
          if (reached.has(one)) continue;
          reached.add(one);
          waiting.push(...feeding(one));
        }
        if (reached.has(s)) throw new NotBounded();
      }
      for (const s of converters) this.through(s);
    }

    isConverter(s) { return this.net.sources[s].kind === "converter"; }

    /* The source's part of what is drawn at a node, [mask, part], where the same always carry it. */
    certain(node) {
      const { varying } = carrying(this.power, node);
      return this.direct(node, this.source).map(([mask, part]) => [mask & ~varying, part])
        .filter(([mask]) => mask);
    }

    /* The most of what is drawn at a node that a source gives, [mask, part], by who carries it with
    the source. */
    direct(node, source) {
      const key = node * this.net.sources.length + source;
      if (!this.direct_.has(key)) this.direct_.set(key, this.directOf(node, source));
      return this.direct_.get(key);
    }

    directOf(node, source) {
      const { may: masks, varying } = carrying(this.power, node);
      const alone = masks[source] & varying ? [[masks[source] & varying, 1]] : [];
      if (!(masks[source] & ~varying)) return alone;
      let classes = [[masks[source] & ~varying, [source]]];
      masks.forEach((mask, other) => {
        if (other === source || !(mask & masks[source])) return;
        classes = classes.flatMap(([m, all]) => [[m & mask, [...all, other]], [m & ~mask, all]])
          .filter(([m]) => m);
      });
      return [...alone, ...classes.map(([mask, sharing]) => {
        const weights = sharing.map((s) => Number(this.net.sources[s].amps || 1));
        return [mask, weights[0] / weights.reduce((one, other) => one + other)];
      })];
    }

    /* The least volts that a node may have where a source carries it, mV. */
    leastVolts(node, source) {
      const offered = this.power.offered[source][node].map(([level]) => level);
      const least = Math.min(...offered) + Math.min(0, movedOf(this.net)[source][0]);
      if (!offered.length || least <= 0) throw new NotBounded();
      return least;
    }

    /* The most that the source gives for an ampere that a converter gives. */
    through(converter) {
      if (!this.through_.has(converter)) this.through_.set(converter, this.throughOf(converter));
      return this.through_.get(converter);
    }

    throughOf(converter) {
      const { power, net } = this;
      const { millivolts, efficiency, range } = net.sources[converter];
      const most = range ? Math.max(millivolts, range[1]) : millivolts;
      const found = [];
      for (const { origin, through, diodes } of inputsOf(net)[converter]) {
        let on = power.steady.live[origin];
        for (const d of through) on &= power.steady.conducts[d];
        if (!on) continue;
        for (const [carrier, mask, part] of this.byCarrier(origin)) {
          if (!(mask & on)) continue;
          const left = diodes.reduce((volts, d) => volts - net.devices[d].millivolts,
            this.leastVolts(origin, carrier));
          if (left <= 0) throw new NotBounded();
          found.push([mask & on, (part * most) / Number(efficiency) / left]);
        }
      }
      return found;
    }

    byCarrier(node) {
      const found = this.direct(node, this.source).map(([mask, part]) => [this.source, mask, part]);
      mayCarry(this.power, node).forEach((carried, s) => {
        if (!carried || s === this.source || !this.isConverter(s)) return;
        for (const [mask, part] of this.direct(node, s)) {
          for (const [other, more] of this.through(s)) {
            if (mask & other) found.push([s, mask & other, part * more]);
          }
        }
      });
      return found;
    }

    /* By what volts multiply the amps of an item that the source feeds: least and most. */
    factors(e, bus) {
      const { net, power } = this;
      const takenAt = net.data.loadMillivolts;
      const load = net.equipment[e].load;
      if (!load || takenAt === undefined || net.nodes[bus].current !== "dc") return [1, 1];
      const carried = mayCarry(power, bus);
      const least = [...carried.keys()].filter((s) => carried[s])
        .map((s) => this.leastVolts(bus, s));
      const ends = [(least.length ? Math.min(...least) : takenAt) / takenAt, mostVolts(net) / takenAt];
      return load === "resistive" ? ends : [1 / ends[1], 1 / ends[0]];
    }

    between(least, most) {
      const { power, net, source } = this;
      const { set } = power.steady;
      const highest = new Total(set.all);
      const certain = new Total(set.all);
      // What AC sources in conflict give is not known, nor what feeds them.
      let unknown = power.conflicts.reduce((all, mask) => all | mask, 0);
      const drawn = net.nodes.map(() => new Map());
      const draws = (bus, mask, low, high) => {
        if (!mask) return;
        const one = drawn[bus].get(mask);
        if (one) {
          one[0] += low;
          one[1] += high;
        } else drawn[bus].set(mask, [low, high]);
      };
      for (let c = 0; c < set.inCondition.length; c++) {
        const here = set.inCondition[c];
        if (!here) continue;
        amountsIn(net, columnOf(net, c)).forEach((amount, e) => {
          if (power.shed.has(e) || (amount && !amount[0])) return;
          const supplies = net.supplies[e];
          let fed = power.fed[e];
          if (net.equipment[e].all) {
            const all = fed.reduce((one, other) => one & other, here);
            fed = fed.map(() => all);
          }
          if (!amount) for (const mask of fed) unknown |= mask & here;
          else if (amount[1] || fed.length === 1) {
            fed.forEach((mask, i) => {
              const amps = amount[1] ? amount[1][i] : amount[0];
              const [low, high] = this.factors(e, supplies[i].bus);
              draws(supplies[i].bus, mask & here, amps * low, amps * high);
            });
          } else this.oneOfSeveral(e, amount[0], fed.map((mask) => mask & here), highest, certain);
        });
      }
      net.sources.forEach(({ chargeAmps }, s) => {
        if (s !== source && chargeAmps) draws(s, charges(power, s), 0, Number(chargeAmps[1]));
      });
      drawn.forEach((masks, bus) => {
        if (!masks.size) return;
        const gains = this.byCarrier(bus);
        const direct = this.certain(bus);
        for (const [mask, [low, high]] of masks) {
          for (const [, where, part] of gains) highest.add(mask & where, up(part * high));
          for (const [where, part] of direct) certain.add(mask & where, down(part * low));
        }
      });
      const [shared, error] = this.sharing(highest);
      let over = certain.atLeast(up(most) + 1);
      over &= ~shared | certain.atLeast(up(most + error) + 1);
      over &= ~charges(power, source);
      return (highest.atLeast(down(least)) & ~over) | unknown;
    }

    /* What an item with several supplies draws, from some of them. */
    oneOfSeveral(e, figure, fed, highest, certain) {
      const { power, net } = this;
      const supplies = net.supplies[e].map(({ bus }, i) => [bus, fed[i], this.factors(e, bus)]);
      const most = supplies.flatMap(([bus, mask, [, high]]) =>
        this.byCarrier(bus).map(([, where, part]) => [part * high, mask & where]));
      const byConverter = supplies.some(([bus]) =>
        mayCarry(power, bus).some((mask, s) => mask && this.isConverter(s)));
      let covered = 0;
      for (const [part, mask] of most.sort(([a], [b]) => b - a)) {
        highest.add(mask & ~covered, up(part * figure));
        // Of several buses of this source it does not draw more than from the best of them; through
        // converters the source may give more at one of them.
        if (!byConverter) covered |= mask;
      }
      const lowest = supplies.flatMap(([bus, mask, [low]]) =>
        this.certain(bus).map(([where, part]) => [part * low, mask & where]));
      covered = supplies.reduce((all, [bus, mask]) =>
        all | (mask & ~this.certain(bus).reduce((one, [where]) => one | where, 0)), 0);
      for (const [part, mask] of lowest.sort(([a], [b]) => a - b)) {
        certain.add(mask & ~covered, down(part * figure));
        covered |= mask;
      }
    }

    /* Where sources share what this one feeds, and the most that this takes off what it gives. */
    sharing(highest) {
      const { power, net } = this;
      let total = 0;
      let everywhere = 0;
      net.sources.forEach(({ amps }, s) => {
        let shared = 0;
        for (const masks of net.nodes.map((_, n) => mayCarry(power, n))) {
          if (!masks[s]) continue;
          let others = 0;
          masks.forEach((mask, other) => { if (other !== s) others |= mask; });
          shared |= masks[s] & others;
        }
        let gains = [];
        if (s === this.source) gains = [[shared, 1]];
        else if (this.isConverter(s) && shared) gains = this.through(s).map(([m, part]) => [m & shared, part]);
        for (const [mask, part] of gains) {
          const error = (part * Number(amps || 0)) / SHARING_ERROR;
          highest.add(mask, up(error));
          total += error;
          everywhere |= mask;
        }
      });
      return [everywhere, total];
    }
  }

  /* The source whose amps are all that a meter may show, and whether in its direction: [s, along];
  that has no other conductor at its terminals. */
  const sourceOf = (net, at) => keptOf(net, `source ${at}`, () => {
    const [source, along] = nextTo(net, at);
    if (source === null || net.node.get(at) === source) return [source, along];
    const conductors = net.branches.filter((b) => b.origin === source || b.target === source);
    const supplies = net.supplies.flat().some(({ bus }) => bus === source);
    return conductors.length === 1 && !supplies ? [source, along] : [null, true];
  });

  /* The source at which a meter is, or in a feeder of it, and whether it reads in its direction. In
  the input of a converter it reads what the converter takes, not what a source gives. */
  function nextTo(net, at) {
    const node = net.node.get(at);
    if (net.sources[node]) return [node, true];
    const through = net.branches.filter((b) => b.through.includes(net.device.get(at)));
    if (through.length !== 1 || through[0].intoConverter) return [null, true];
    const [{ origin, target }] = through;
    if (net.sources[origin]) return [origin, true];
    return net.sources[target] ? [target, false] : [null, true];
  }

  /* Scenarios among which are all those in which a loadmeter or ammeter might be read so. */
  function mayShow(power, indication, seen, within) {
    const { net } = power;
    const { all } = power.steady.set;
    const [source, along] = sourceOf(net, indication.at);
    if (source === null || !["figure", "no load"].includes(seen.kind)) return all;
    const share = number(figures.scaleOf(net, indication).share);
    if (seen.kind === "no load" || !seen.number) return possible(power, source, 0, 1 / share);
    const figure = Math.abs(seen.number);
    const [least, most] = [-within, within].map((by) => Math.max(0, (figure + by) / share));
    const giving = possible(power, source, least, most);
    if (!seen.direction) return giving | charges(power, source);
    const [forwards] = figures.directionsAt(net, indication);
    return (forwards === seen.direction) === along ? giving : giving | charges(power, source);
  }

  return { mayShow, nextTo };
})();
