/* How it comes about: what a failure, or the crew, changes, step by step, each with its causes.

The steps are those of the engine: what a dip takes, what opens and stalls, then each round in which
switching devices follow their closing conditions. `because.events(...)` answers as `drop --because
--json` does. */
"use strict";

const because = (() => {
  /* Keeps the state after every step of one scenario. The rounds of a search that starts again are
  forgotten: nothing came of them. */
  function recorder(net) {
    const states = [];
    let began = 0;
    return {
      states,
      begin() { began = states.length; },
      restart() { states.length = began; },
      step(set, at, down) {
        const conducts = engine.conducting(net, set, at);
        const { live, produces } = engine.powered(net, set, conducts, down, at.stalled);
        states.push({
          net, set, conducts, live, produces, down,
          opened: at.opened.slice(), stalled: at.stalled.slice(), inDip: this.inDip,
        });
      },
    };
  }

  const stateOf = (steady, set = steady.set) => ({
    net: steady.net, set, conducts: steady.conducts, live: steady.live, produces: steady.produces,
    down: steady.down, opened: steady.opened, stalled: steady.stalled,
  });

  /* Events of one scenario.

  `asked`: {condition, failed, then, dip}; with `then` the events of the crew's stage.
  `overload(outcome, record)` gives [outcome, ids opened], where what is overloaded opens. */
  function events(net, asked, overload) {
    const { condition, failed = [], then, dip = false } = asked;
    const record = recorder(net);
    const c = engine.known(net.condition, condition, "condition");
    let outcome = engine.solve(net, [{ condition, failed }], { dip, record: then ? null : record });
    let byOverload = new Set();
    if (overload) [outcome, byOverload] = overload(outcome, then ? null : record);
    const own = new Set(failed.map(([id]) => id));
    let start;
    if (then) {
      start = stateOf(outcome.after.steady);
      outcome = engine.afterTheCrew(outcome, then, record);
      if (overload) [outcome, byOverload] = overload(outcome, record);
      for (const id of then.pulled || []) own.add(id);
      for (const [id, mask] of outcome.reset) if (mask) own.add(id);
    } else {
      const before = stateOf(net.before[c].steady);
      // What opened or stalled in a condition without failures is part of how it starts.
      start = { ...before, opened: new Int32Array(net.devices.length),
        stalled: new Int32Array(net.nodes.length) };
    }
    const shorted = engine.sorted(failed.filter(
      ([id, mode]) => mode === "shorted" && net.node.has(id)).map(([id]) => id));
    return rows(net, [start, ...record.states], own, shorted, byOverload);
  }

  /* Events as words for people have them: within a step, cause before effect. */
  const CHANGES = ["tripped", "blown", "open", "stalled", "idle", "dead", "closed", "produces", "live"];
  const causesFirst = (found) => [...found].sort((a, b) =>
    a.step - b.step || CHANGES.indexOf(a.change) - CHANGES.indexOf(b.change));

  function word(state, component) {
    const { net } = state;
    const n = net.node.get(component.id);
    if (n !== undefined) {
      if (n < net.sources.length) {
        return state.stalled[n] ? "stalled" : state.produces[n] ? "produces" : "idle";
      }
      return state.live[n] ? "live" : "dead";
    }
    const d = net.device.get(component.id);
    if (state.conducts[d]) return "closed";
    if (!state.opened[d]) return "open";
    return engine.BLOWS.has(component.kind) ? "blown" : "tripped";
  }

  function rows(net, states, own, shorted, byOverload) {
    const found = [];
    for (const component of net.components) {
      if (own.has(component.id)) continue;
      const words = states.map((state) => word(state, component));
      if (words[0] === words[words.length - 1]) continue;
      let changed = words.length - 1;
      while (words[changed] === words[changed - 1]) changed -= 1;
      found.push([changed, component]);
    }
    const order = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
    found.sort(([a, x], [b, y]) => a - b || order(x.kind, y.kind) || order(x.id, y.id));
    const steps = [...new Set(found.map(([k]) => k))];
    // While the short held down what has volts again since.
    const last = states[states.length - 1];
    const inDip = (k) => states[k].inDip && [...states[k].down].some((mask, n) => mask & 1 && !(last.down[n] & 1));
    return found.map(([k, component]) => ({
      step: steps.indexOf(k) + 1,
      kind: component.kind,
      id: component.id,
      change: word(states[states.length - 1], component),
      causes: byOverload.has(component.id) ? []
        : engine.sorted(causes(net, states, k, component, shorted)),
      in_dip: Boolean(inDip(k)),
    }));
  }

  function causes(net, states, k, component, shorted) {
    const before = states[k - 1];
    const after = states[k];
    const now = word(after, component);
    if (["tripped", "blown", "stalled"].includes(now)) return shorted;
    if (net.node.has(component.id)) {
      const comes = now === "live" || now === "produces";
      if (!comes && heldDown(after, component.id)) return shorted;
      const [on, off] = comes ? [after, before] : [before, after];
      const changed = [...onTheWayTo(on, net.node.get(component.id))].filter((id) =>
        id !== component.id && acts(on, id) && !acts(off, id));
      const others = comes ? changed : changed.filter((id) => !heldDown(after, id));
      return others.length < changed.length ? new Set([...others, ...shorted]) : others;
    }
    // It was judged by the state after the step before: what changed until then is the cause.
    const judged = terms(before, component.id);
    for (const earlier of states.slice(0, k - 1).reverse()) {
      const held = terms(earlier, component.id);
      const changed = judged.filter(([, holds], i) => holds !== held[i][1]).map(([id]) => id);
      if (changed.length) return new Set(changed);
    }
    return [];
  }

  /* By term of a device's closing conditions: [the id that it names, whether it holds]. */
  function terms(state, id) {
    const { net } = state;
    const none = {
      positions: [], live: [], dead: [], closed: [], open: [], above: [], below: [],
    };
    const found = [];
    const judged = { ...state, levels: engine.once(() => engine.levelsOf(net, state)) };
    const add = (name, single) => found.push(
      [name, Boolean(engine.hold(net, state.set, [{ ...none, ...single }], judged))]);
    for (const t of net.terms[net.device.get(id)] || []) {
      Object.keys(t.written.switches || {}).forEach((name, i) =>
        add(name, { positions: [t.positions[i]] }));
      t.above.forEach((one) => add(net.nodes[one[0]].id, { above: [one] }));
      t.below.forEach((one) => add(net.nodes[one[0]].id, { below: [one] }));
      t.live.forEach((n) => add(net.nodes[n].id, { live: [n] }));
      t.dead.forEach((n) => add(net.nodes[n].id, { dead: [n] }));
      t.closed.forEach((d) => add(net.devices[d].id, { closed: [d] }));
      t.open.forEach((d) => add(net.devices[d].id, { open: [d] }));
    }
    return found;
  }

  /* Whether a component conducts, passes or produces. */
  function acts(state, id) {
    const n = state.net.node.get(id);
    if (n === undefined) return Boolean(state.conducts[state.net.device.get(id)]);
    return Boolean(n < state.net.sources.length ? state.produces[n] : !state.down[n]);
  }

  /* Whether it is a node that a short holds at no volts. */
  function heldDown(state, id) {
    const n = state.net.node.get(id);
    return n !== undefined && Boolean(state.down[n] & ~state.set.dead[n]);
  }

  /* Every component on a way from a producing source to a node. A way visits no node twice: what
  every path to an arc passes, no path onwards from it may. */
  function onTheWayTo(state, node) {
    const { net } = state;
    const arcs = [];
    net.branches.forEach((b) => {
      if (!b.through.every((d) => state.conducts[d])) return;
      if (state.down[b.origin] || state.down[b.target]) return;
      arcs.push([b.origin, b.target, b]);
      if (!b.intoConverter && b.diodes.every((d) => state.set.bypassed[d])) {
        arcs.push([b.target, b.origin, b]);
      }
    });
    const onwards = arcs.filter(([from]) => from !== node);
    const arriving = passed([...net.sources.keys()].filter((s) => state.produces[s]), onwards);
    const leaving = passed([node], onwards.map(([from, to]) => [to, from]));
    const found = new Set(arriving.has(node) ? [net.nodes[node].id] : []);
    for (const [from, to, branch] of onwards) {
      if (!arriving.has(from) || !leaving.has(to)) continue;
      if ([...arriving.get(from)].some((n) => leaving.get(to).has(n))) continue;
      found.add(net.nodes[from].id);
      for (const d of branch.through) found.add(net.devices[d].id);
    }
    return found;
  }

  /* By node that the seeds reach: the nodes that every path from a seed passes, both ends too. */
  function passed(seeds, arcs) {
    const into = new Map();
    for (const [from, to] of arcs) into.set(to, [...(into.get(to) || []), from]);
    const found = new Map(seeds.map((n) => [n, new Set([n])]));
    for (let changed = true; changed;) {
      changed = false;
      for (const [node, origins] of into) {
        const before = origins.filter((n) => found.has(n)).map((n) => found.get(n));
        if (seeds.includes(node) || !before.length) continue;
        const now = new Set([...before[0]].filter((n) => before.every((set) => set.has(n))));
        now.add(node);
        // It only ever gets smaller.
        if (found.get(node)?.size === now.size) continue;
        found.set(node, now);
        changed = true;
      }
    }
    return found;
  }

  /* `at 24 V, closes at more than 26 V`: by which volts of its causes a switching device has moved,
     as the package's `closing_volts_text.py` has it. The volts are those of an answer. */
  function closingVolts(net, names, { id, change, causes }, shown) {
    const closesWhen = net.devices[net.device.get(id)]?.closesWhen || [];
    const found = [];
    for (const node of causes) {
      const state = shown.nodes[node];
      const limits = new Map(closesWhen.flatMap(({ above, below }) => [["more", above], ["less", below]])
        .filter(([, terms]) => terms && node in terms)
        .map(([side, terms]) => [`${side} than ${terms[node] / 1000} V`, [side, terms[node] / 1000]]));
      if (!state?.live || limits.size !== 1) continue;
      const [[words, [side, limit]]] = limits;
      const hasClosed = side === "more" ? state.volts > limit : state.volts < limit;
      if (hasClosed !== (change === "closed")) continue;
      found.push(`${causes.length > 1 ? `${names.get(node)} ` : ""}at ${state.volts} V, closes at ${words}`);
    }
    return headline.joined(found);
  }

  return { events, causesFirst, closingVolts };
})();
