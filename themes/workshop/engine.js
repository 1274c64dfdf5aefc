/* The solver in the browser: what follows from failures, switches and pulled breakers.

The same rules as the package's solver, written a second time from the same text and held equal to
it by tests. A scenario is a bit: every quantity is one 32-bit word whose bit k is its truth in
scenario k, so that `&` is a series connection and `|` a parallel one, in 32 scenarios at once. One
scenario is a word of one bit; thousands are many words, one after the other. Volts are whole
millivolts.

`engine.load(data)` makes a net of what `live_data.py` writes; everything else takes that net.
Classic script, so that it works from a folder: it leaves one name, `engine`. */
"use strict";

const engine = (() => {
  const WORD = 32;
  const BUFFER = 1 << 15; // bytes
  const LONGEST_CYCLE = 2048; // rounds after which what still moves is taken to chatter
  const SHARING = 500; // mV: sources that offer a bus volts this near to the highest share its load
  const OVERCURRENT = new Set(["breaker", "fuse", "fuse-link"]);
  const BLOWS = new Set(["fuse", "fuse-link"]);
  const SWITCHING = new Set(["contactor", "relay", "switch"]);
  const COIL = new Set(["contactor", "relay"]);
  const MODES = {
    generator: ["lost", "shorted"], battery: ["lost", "shorted"],
    "external-power": ["lost", "shorted"], converter: ["lost", "shorted"],
    bus: ["dead", "shorted"], breaker: ["open", "stuck-closed"], fuse: ["open"],
    "fuse-link": ["open"], contactor: ["open", "stuck-closed"], relay: ["open", "stuck-closed"],
    switch: ["open", "stuck-closed"], diode: ["open", "shorted"], shunt: ["open"],
  };
  const RARE = { breaker: "stuck-closed", switch: "stuck-closed", diode: "shorted" };

  const everyOf = (count) => (count === WORD ? -1 : (1 << count) - 1);
  const sorted = (ids) => [...ids].sort((a, b) => (a < b ? -1 : a > b ? 1 : 0));

  // ---- The net, made once from its data: ids become numbers

  function load(data) {
    const net = { data };
    const number = (list) => new Map(list.map((one, i) => [one.id, i]));
    const nodes = [...data.sources, ...data.buses.map((b) => ({ ...b, kind: "bus" }))];
    net.nodes = nodes;
    net.sources = data.sources;
    net.devices = data.devices;
    net.conditions = data.conditions;
    net.equipment = data.equipment;
    net.node = number(nodes);
    net.device = number(data.devices);
    net.condition = number(data.conditions);
    net.item = number(data.equipment);
    net.positions = new Map();
    for (const s of data.switches)
      for (const place of s.positions) net.positions.set(`${s.id}\n${place}`, net.positions.size);
    // What each condition sets, by number; what is not fitted is left out.
    const fitted = (numbers) => numbers.filter((number) => number !== undefined);
    net.startsWith = data.conditions.map(({ sources = [], pulled = [], switches = {} }) => ({
      onLine: fitted(sources.map((id) => net.node.get(id))).filter((n) => nodes[n].kind !== "converter"),
      open: fitted(pulled.map((id) => net.device.get(id))),
      places: fitted(data.switches.map((s) =>
        net.positions.get(`${s.id}\n${switches[s.id] ?? s.positions[0]}`))),
    }));
    const nodeOf = (id) => known(net.node, id, "node");
    const deviceOf = (id) => known(net.device, id, "device");
    const terms = (list) => (list || []).map((t) => ({
      positions: Object.entries(t.switches || {}).map(
        ([id, place]) => net.positions.get(`${id}\n${place}`) ?? -1),
      live: (t.live || []).map(nodeOf),
      dead: (t.dead || []).map(nodeOf),
      closed: (t.closed || []).map(deviceOf),
      open: (t.open || []).map(deviceOf),
      above: Object.entries(t.above || {}).map(([id, mv]) => [nodeOf(id), mv]),
      below: Object.entries(t.below || {}).map(([id, mv]) => [nodeOf(id), mv]),
      written: t,
    }));
    net.terms = data.devices.map((d) => (SWITCHING.has(d.kind) ? terms(d.closesWhen) : null));
    net.switching = [...data.devices.keys()].filter((d) => net.terms[d]);
    // What drops out in a dip: by the catalogue; with all of which it does not say it.
    const mayDrop = net.switching.filter((d) => !net.devices[d].ridesThrough);
    net.droppingOut = [mayDrop.filter((d) => net.devices[d].dropsOut), mayDrop];
    net.byVolts = net.terms.some((t) => t && t.some((s) => s.above.length || s.below.length));
    const feeds = new Set(data.feeds);
    net.branches = data.branches.map(([from, to, through], i) => {
      const devices = through.map(deviceOf);
      const kindOf = (d) => data.devices[d].kind;
      const target = nodeOf(to);
      return {
        origin: nodeOf(from),
        target,
        through: devices,
        diodes: devices.filter((d) => kindOf(d) === "diode"),
        protective: devices.filter((d) => OVERCURRENT.has(kindOf(d)) || data.devices[d].protective),
        intoConverter: feeds.has(i),
      };
    });
    net.converterFeeds = [...net.branches.keys()].filter((i) => net.branches[i].intoConverter);
    net.arcs = nodes.map(() => []);
    net.branches.forEach((b, i) => {
      net.arcs[b.origin].push([i, b.target, true]);
      net.arcs[b.target].push([i, b.origin, false]);
    });
    const supplies = (list) => (list || []).map(([bus, through]) => ({
      bus: nodeOf(bus), through: through.map(deviceOf),
    }));
    net.supplies = data.equipment.map((e) => supplies(e.supplies));
    net.requires = data.equipment.map((e) => (e.requires || []).map((r) =>
      Array.isArray(r) ? r.map((i) => known(net.item, i, "item")) : [known(net.item, r, "item")]));
    net.alternatives = data.equipment.map((e) =>
      (e.requires || []).filter(Array.isArray).flat().map((i) => net.item.get(i)));
    net.indications = data.indications.map((i) => ({
      ...i, terms: terms(i.litWhen), connections: supplies(i.supplies),
    }));
    net.components = [...nodes, ...data.devices];
    net.kind = new Map(net.components.map((c) => [c.id, c.kind]));
    net.faults = net.components.flatMap((c) => MODES[c.kind].map((mode) => [c.id, mode]));
    net.combinedFaults = net.faults.filter(([id, mode]) => RARE[net.kind.get(id)] !== mode);
    // Each condition's steady state is worked out when it is first asked for.
    net.before = {};
    net.conditions.forEach((_, c) => Object.defineProperty(net.before, c,
      { get: once(() => conditionState(net, c)) }));
    return net;
  }

  function known(map, id, what) {
    if (!map.has(id)) throw new Error(`no ${what} '${id}'`);
    return map.get(id);
  }

  // ---- What is set from outside, and where switching devices are

  /* Arrays of masks, many of them out of one buffer: a buffer each takes longer than the work with it. */
  let buffer = new ArrayBuffer(0);
  let used = 0;

  function ints(length) {
    const size = length * 4;
    if (used + size > buffer.byteLength) {
      buffer = new ArrayBuffer(Math.max(BUFFER, size));
      used = 0;
    }
    used += size;
    return new Int32Array(buffer, used - size, length);
  }

  function copied(masks) {
    const copy = ints(masks.length);
    copy.set(masks);
    return copy;
  }

  /* The masks of a word of scenarios: `inCondition` by number of the condition; `failed` is a list
  of [component, mode, mask]; `acts` is what the crew does in all of them. */
  function setting(net, all, inCondition, failed, acts) {
    const of = { node: () => ints(net.nodes.length), device: () => ints(net.devices.length) };
    const set = {
      all, inCondition, failed,
      onLine: of.node(), dead: of.node(), shorted: of.node(),
      open: of.device(), stuck: of.device(), bypassed: of.device(),
      position: ints(net.positions.size),
    };
    const pulled = of.device();
    net.sources.forEach((s, n) => { if (s.kind === "converter") set.onLine[n] = all; });
    net.startsWith.forEach((condition, c) => {
      const here = inCondition[c];
      if (!here) return;
      for (const n of condition.onLine) set.onLine[n] |= here;
      for (const d of condition.open) pulled[d] |= here;
      for (const at of condition.places) set.position[at] |= here;
    });
    for (let d = 0; d < pulled.length; d++) set.open[d] = pulled[d];
    for (const [id, mode, mask] of failed) {
      const modes = MODES[net.kind.get(id)];
      if (!modes) throw new Error(`no component '${id}'`);
      if (!modes.includes(mode)) throw new Error(`'${id}' has no mode '${mode}'`);
      const d = net.device.get(id);
      const n = net.node.get(id);
      if (mode === "lost") set.onLine[n] &= ~mask;
      else if (mode === "dead") set.dead[n] |= mask;
      else if (mode === "open") set.open[d] |= mask;
      else if (mode === "stuck-closed") set.stuck[d] |= mask & ~pulled[d];
      else if (d !== undefined) set.bypassed[d] |= mask;
      else {
        set.shorted[n] |= mask;
        if (n < net.sources.length) set.onLine[n] &= ~mask;
      }
    }
    if (acts) {
      for (const id of acts.pulled || []) set.open[known(net.device, id, "device")] = all;
      for (const [id, place] of Object.entries(acts.switches || {})) {
        for (const s of net.data.switches) {
          if (s.id !== id) continue;
          for (const p of s.positions) set.position[net.positions.get(`${id}\n${p}`)] = 0;
          set.position[known(net.positions, `${id}\n${place}`, "position")] = all;
        }
      }
    }
    return set;
  }

  const positionsAt = (net) => ({
    closed: ints(net.devices.length), chatters: ints(net.devices.length),
    opened: ints(net.devices.length), stalled: ints(net.nodes.length),
  });

  const copyOf = (at) => ({
    closed: copied(at.closed), chatters: copied(at.chatters),
    opened: copied(at.opened), stalled: copied(at.stalled),
  });

  // ---- Power spreads

  function conducting(net, set, at) {
    const conducts = ints(net.devices.length);
    for (let d = 0; d < conducts.length; d++) {
      conducts[d] = (set.all & ~set.open[d] & ~at.opened[d]) | set.stuck[d];
    }
    return withMoved(net, set, at, conducts);
  }

  /* The same array, with the switching devices where they are now. */
  function withMoved(net, set, at, conducts) {
    for (const d of net.switching) {
      conducts[d] = (set.all & ~set.open[d] & ~at.opened[d] & at.closed[d] & ~at.chatters[d]) | set.stuck[d];
    }
    return conducts;
  }

  /* By branch: [along, against], the scenarios in which power passes; the feed of a converter
  passes none back. */
  function passages(net, set, conducts) {
    const along = ints(net.branches.length);
    const against = ints(net.branches.length);
    for (let i = 0; i < net.branches.length; i++) {
      const branch = net.branches[i];
      let mask = set.all;
      for (const d of branch.through) mask &= conducts[d];
      along[i] = mask;
      if (branch.intoConverter) continue;
      for (const d of branch.diodes) mask &= set.bypassed[d];
      against[i] = mask;
    }
    return { along, against };
  }

  /* Masks flow along arcs until nothing is added. `able`, by source, lets power into converters;
  without it a converter takes none. `backwards` runs every arc the other way: from a short. */
  function spread(net, ways, seeds, passes, able, backwards = false) {
    const reached = ints(net.nodes.length);
    const waiting = [];
    const queued = new Uint8Array(net.nodes.length);
    for (let n = 0; n < reached.length; n++) {
      reached[n] = seeds[n] & passes[n];
      if (reached[n]) { waiting.push(n); queued[n] = 1; }
    }
    for (let next = 0; next < waiting.length; next++) {
      const node = waiting[next];
      queued[node] = 0;
      const here = reached[node];
      const arcs = net.arcs[node];
      for (let a = 0; a < arcs.length; a++) {
        const other = arcs[a][1];
        if (reached[other] === passes[other]) continue;
        const i = arcs[a][0];
        const forth = arcs[a][2];
        let mask = forth !== backwards ? ways.along[i] : ways.against[i];
        if (net.branches[i].intoConverter) mask = forth && able ? mask & able[other] : 0;
        const after = reached[other] | (here & mask & passes[other]);
        if (after !== reached[other]) {
          reached[other] = after;
          if (!queued[other]) { queued[other] = 1; waiting.push(other); }
        }
      }
    }
    return reached;
  }

  function passing(net, set, down) {
    const passes = ints(net.nodes.length);
    for (let n = 0; n < passes.length; n++) passes[n] = set.all & ~down[n];
    return passes;
  }

  function ableOf(net, set, stalled) {
    const able = ints(net.nodes.length);
    for (let n = 0; n < net.sources.length; n++) able[n] = set.onLine[n] & ~stalled[n];
    return able;
  }

  /* Which nodes are live and which sources produce. */
  function powered(net, set, conducts, down, stalled) {
    return poweredBy(net, set, conducts, suppliedBy(net, set, down, stalled));
  }

  /* What stays as it is while switching devices move. */
  function suppliedBy(net, set, down, stalled) {
    const able = ableOf(net, set, stalled);
    const seeds = copied(able);
    for (let n = 0; n < net.sources.length; n++) if (net.sources[n].kind === "converter") seeds[n] = 0;
    return { able, seeds, passes: passing(net, set, down) };
  }

  function poweredBy(net, set, conducts, { able, seeds, passes }) {
    const ways = passages(net, set, conducts);
    const live = spread(net, ways, seeds, passes, able);
    const produces = ints(net.nodes.length);
    for (let n = 0; n < net.sources.length; n++) produces[n] = seeds[n] & passes[n];
    for (const i of net.converterFeeds) {
      const b = net.branches[i];
      produces[b.target] |= live[b.origin] & ways.along[i] & able[b.target] & passes[b.target];
    }
    return { live, produces, passes, ways };
  }

  // ---- Volts: the highest over all ways, less the drops of sound diodes

  /* By node: [mV, mask] pairs, highest first; in the scenarios of no pair it shows 0. From the
  highest volts down, as Dijkstra's shortest paths (1959), in all scenarios at once. */
  function levels(net, set, ways, produces, passes) {
    const shown = net.nodes.map(() => []);
    const taken = ints(net.nodes.length);
    const ahead = []; // by level still ahead: [level, masks by node, the nodes that have one]
    const put = (level, node, mask) => {
      let at = ahead.find((one) => one[0] === level);
      if (!at) ahead.push(at = [level, ints(net.nodes.length), []]);
      if (!at[1][node]) at[2].push(node);
      at[1][node] |= mask;
    };
    for (let n = 0; n < net.sources.length; n++) {
      if (produces[n]) put(net.sources[n].millivolts, n, produces[n]);
    }
    while (ahead.length) {
      let first = 0;
      for (let a = 1; a < ahead.length; a++) if (ahead[a][0] > ahead[first][0]) first = a;
      const [level, masks, waiting] = ahead[first];
      const here = ints(net.nodes.length);
      for (let next = 0; next < waiting.length; next++) {
        const node = waiting[next];
        const fresh = masks[node] & passes[node] & ~taken[node];
        masks[node] = 0;
        if (!fresh) continue;
        taken[node] |= fresh;
        if (!here[node]) shown[node].push([level, 0]);
        here[node] |= fresh;
        for (const [i, other, forth] of net.arcs[node]) {
          const branch = net.branches[i];
          if (branch.intoConverter) continue;
          const on = fresh & ~taken[other] & (forth ? ways.along[i] : ways.against[i]);
          if (!on) continue;
          if (!forth || !branch.diodes.length) put(level, other, on);
          else for (const [drop, where] of dropsOf(net, set, branch, on)) {
            put(Math.max(level - drop, 0), other, where);
          }
        }
      }
      ahead.splice(first, 1);
      shown.forEach((list, n) => { if (here[n]) list[list.length - 1][1] = here[n]; });
    }
    return shown;
  }

  function dropsOf(net, set, branch, mask) {
    let found = [[0, mask]];
    for (const d of branch.diodes) {
      const sums = new Map();
      for (const [total, where] of found) {
        for (const [more, part] of [
          [net.devices[d].millivolts, where & ~set.bypassed[d]], [0, where & set.bypassed[d]],
        ]) {
          if (part) sums.set(total + more, (sums.get(total + more) || 0) | part);
        }
      }
      found = [...sums];
    }
    return found;
  }

  // ---- Closing conditions

  /* `live` of a source means that it produces; of a bus, that it is live. */
  function hold(net, set, terms, state) {
    let any = 0;
    const shows = state.shows || ((n, mv) => above(net, n, mv, state));
    const on = (n) => (n < net.sources.length ? state.produces[n] : state.live[n]);
    for (const t of terms) {
      let mask = set.all;
      for (const p of t.positions) mask &= p < 0 ? 0 : set.position[p];
      for (const n of t.live) mask &= on(n);
      for (const n of t.dead) mask &= ~on(n);
      for (const d of t.closed) mask &= state.conducts[d];
      for (const d of t.open) mask &= ~state.conducts[d];
      for (const [n, mv] of t.above) mask &= shows(n, mv, 0);
      for (const [n, mv] of t.below) mask &= ~shows(n, mv - 1, 1);
      any |= mask;
    }
    return any;
  }

  /* The scenarios in which a node shows more; a source by itself, if it produces. */
  function above(net, node, limit, state) {
    if (limit < 0) return -1;
    const shown = node < net.sources.length
      ? [[net.sources[node].millivolts, state.produces[node]]] : state.levels()[node];
    let mask = 0;
    for (const [level, where] of shown) if (level > limit) mask |= where;
    return mask;
  }

  /* Switching devices follow their closing conditions until nothing changes. `devices` move, in the
  scenarios `where`; `at` is brought to the end. What repeats itself chatters: it counts as open,
  and the search starts again from where it began. Returns what is live at the end, where known. */
  function switchUntilSteady(net, set, at, down, where, devices, record) {
    if (!devices.length || !where) return null;
    const start = copied(at.closed);
    if (record) record.begin();
    for (;;) {
      const { chatter, last } = rounds(net, set, at, down, where, devices, record);
      let again = 0;
      for (const d of devices) again |= chatter[d];
      if (!again) return last;
      for (const d of devices) {
        at.chatters[d] |= chatter[d];
        at.closed[d] = (at.closed[d] & ~again) | (start[d] & again);
      }
      if (record) {
        record.restart();
        record.step(set, at, down);
        record.begin();
      }
    }
  }

  function rounds(net, set, at, down, where, devices, record) {
    let conducts = conducting(net, set, at);
    let remembered = conducts;
    let moved = ints(net.devices.length);
    const chatter = ints(net.devices.length);
    const supplied = suppliedBy(net, set, down, at.stalled);
    let undecided = where;
    let window = 1;
    let steps = 0;
    let last = null;
    while (undecided) {
      const now = poweredBy(net, set, conducts, supplied);
      const state = { ...now, conducts, levels: once(() =>
        levels(net, set, now.ways, now.produces, now.passes)) };
      const next = devices.map((d) => hold(net, set, net.terms[d], state));
      devices.forEach((d, i) => { at.closed[d] = (at.closed[d] & ~where) | (next[i] & where); });
      const after = withMoved(net, set, at, copied(conducts));
      let steady = undecided;
      let repeats = undecided;
      for (const d of devices) {
        const difference = after[d] ^ remembered[d];
        moved[d] |= difference & undecided;
        repeats &= ~difference;
        steady &= ~(after[d] ^ conducts[d]);
      }
      if (record && steady !== undecided) record.step(set, at, down);
      last = devices.every((d) => after[d] === conducts[d]) ? now : null;
      conducts = after;
      undecided &= ~steady;
      repeats &= undecided;
      steps += 1;
      if (steps === LONGEST_CYCLE) repeats = undecided;
      for (const d of devices) chatter[d] |= moved[d] & repeats;
      undecided &= ~repeats;
      if (steps === window) {
        remembered = after;
        moved = ints(net.devices.length);
        window *= 2;
        steps = 0;
      }
    }
    return { chatter, last };
  }

  // ---- Faults: what a short opens and stalls, pass by pass

  function runStage(net, set, start, dip, record) {
    const at = copyOf(start);
    let withShort = 0;
    for (const mask of set.shorted) withShort |= mask;
    const passes = passesOf(net, Boolean(record));
    const dropping = net.droppingOut[dip ? 1 : 0];
    let part = joined(set, ints(net.nodes.length));
    let after;
    let last;
    for (;;) {
      if (withShort && passes.begin(set, at) && record) record.step(set, at, part);
      const before = conducting(net, set, at);
      let acted = 0;
      if (withShort) {
        part = joined(set, shortReaches(net, set, before, false));
        const { opening, stalling } = opensAndStalls(net, set, before, part, at.stalled);
        for (const mask of opening) acted |= mask;
        for (const mask of stalling) acted |= mask;
        if (acted && dropping.length) {
          const zone = joined(set, shortReaches(net, set, before, true));
          for (let n = 0; n < zone.length; n++) zone[n] = part[n] | (zone[n] & acted);
          if (record) {
            record.inDip = true;
            record.step(set, at, zone);
          }
          switchUntilSteady(net, set, at, zone, acted, dropping, record);
          if (record) record.inDip = false;
        }
        for (let d = 0; d < opening.length; d++) at.opened[d] |= opening[d];
        for (let n = 0; n < stalling.length; n++) at.stalled[n] |= stalling[n];
      }
      if (record) record.step(set, at, part);
      last = switchUntilSteady(net, set, at, part, set.all, net.switching, record);
      after = conducting(net, set, at);
      let moved = 0;
      for (const d of net.switching) moved |= after[d] ^ before[d];
      passes.end(acted);
      if (!((acted | moved) & withShort)) break;
    }
    // The last round was in this state, if nothing moved in it.
    const { live, produces, passes: passable, ways } = last || powered(net, set, after, part, at.stalled);
    return {
      net, set, live, produces, passes: passable, ways, conducts: after, down: part,
      chatters: at.chatters, opened: at.opened, stalled: at.stalled,
    };
  }

  function joined(set, reached) {
    const down = copied(set.dead);
    for (let n = 0; n < down.length; n++) down[n] |= reached[n];
    return down;
  }

  /* The nodes that a short reaches against the flow of sound diodes: through conducting devices,
  protective ones only where they can't open, or (`zone`) all of them. */
  function shortReaches(net, set, conducts, zone) {
    const along = ints(net.branches.length);
    const against = ints(net.branches.length);
    for (let i = 0; i < along.length; i++) {
      const branch = net.branches[i];
      if (branch.intoConverter) continue;
      let mask = set.all;
      for (const d of branch.through) mask &= conducts[d];
      if (!zone) for (const d of branch.protective) mask &= set.stuck[d];
      along[i] = mask;
      for (const d of branch.diodes) mask &= set.bypassed[d];
      against[i] = mask;
    }
    const passes = ints(net.nodes.length);
    for (let n = 0; n < passes.length; n++) passes[n] = set.all & ~set.dead[n];
    return spread(net, { along, against }, set.shorted, passes, null, true);
  }

  /* By device and by source: the scenarios in which this pass opens or stalls it. */
  function opensAndStalls(net, set, conducts, part, stalled) {
    const { live, ways } = powered(net, set, conducts, part, stalled);
    const opening = ints(net.devices.length);
    const stalling = ints(net.nodes.length);
    const inPart = part.map((mask, n) => mask & ~set.dead[n]);
    const stall = (n, mask) => { stalling[n] |= mask & inPart[n] & set.onLine[n] & ~stalled[n]; };
    net.sources.forEach((s, n) => { if (s.kind !== "converter") stall(n, set.all); });
    const open = (branch, feeding, order) => {
      for (const d of order) {
        if (!feeding) return;
        opening[d] |= feeding & ~set.stuck[d];
        feeding &= set.stuck[d];
      }
    };
    net.branches.forEach((branch, i) => {
      if (branch.intoConverter) {
        stall(branch.target, ways.along[i] & live[branch.origin]);
        return;
      }
      const towards = ways.along[i] & inPart[branch.target] & live[branch.origin];
      const back = ways.against[i] & inPart[branch.origin] & live[branch.target];
      if (towards) open(branch, towards, [...branch.protective].reverse());
      if (back) open(branch, back, branch.protective);
    });
    return { opening, stalling };
  }

  /* Finds passes that begin in a state in which an earlier pass began: the devices whose positions
  differ among the passes since then chatter. For many scenarios one earlier state is kept (Brent
  1980); the order of events depends on when a repetition is found, so then all are kept. */
  function passesOf(net, keepAll) {
    let earlier = [];
    let window = 1;
    let steps = 0;
    return {
      begin(set, at) {
        let now = conducting(net, set, at);
        const chatters = copied(at.chatters);
        let any = 0;
        for (const old of earlier) {
          let same = set.all & ~old.fresh;
          for (const d of net.switching) {
            const difference = now[d] ^ old.conducts[d];
            old.differ[d] |= difference;
            same &= ~difference & ~(chatters[d] ^ old.chatters[d]);
          }
          for (const d of net.switching) {
            at.chatters[d] |= old.differ[d] & same;
            any |= old.differ[d] & same;
            old.differ[d] &= ~same;
          }
        }
        if (keepAll || steps === window || !earlier.length) {
          window = earlier.length ? window * 2 : 1;
          if (!keepAll) earlier = [];
          now = conducting(net, set, at);
          earlier.push({
            conducts: now, chatters: copied(at.chatters), differ: ints(net.devices.length), fresh: 0,
          });
          steps = 0;
        }
        steps += 1;
        return any;
      },
      end(acted) { for (const old of earlier) old.fresh |= acted; },
    };
  }

  // ---- Conditions, failures, and what the crew does

  function once(work) {
    let done = false;
    let value;
    return () => {
      if (!done) { value = work(); done = true; }
      return value;
    };
  }

  /* Of a number, kept: the same is not worked out again. */
  function kept(work) {
    const known = [];
    return (number) => known[number] ?? (known[number] = work(number));
  }

  const onlyIn = (net, c, mask) => {
    const inCondition = ints(net.conditions.length);
    inCondition[c] = mask;
    return inCondition;
  };

  /* One condition with nothing failed, from rest: contactors open unless held closed, a switch that
  only follows what a person sets as it is set. A word of one scenario. */
  function conditionState(net, c) {
    const set = setting(net, 1, onlyIn(net, c, 1), []);
    const at = positionsAt(net);
    const held = new Set(net.conditions[c].heldClosed || []);
    for (const d of net.switching) {
      at.closed[d] = held.has(net.devices[d].id) ? 1 : 0;
      const byHand = net.terms[d].every((t) =>
        Object.entries(t.written).every(([field, value]) =>
          field === "switches" || !Object.keys(value).length));
      if (net.devices[d].kind === "switch" && byHand) {
        at.closed[d] |= hold(net, set, net.terms[d], {});
      }
    }
    return powerOf(runStage(net, set, at, false));
  }

  /* Solve up to 32 scenarios, each from its condition's steady state.

  `scenarios`: [{condition, failed: [[component, mode], ...]}, ...]; `dip`: contactors of which
  the catalogue does not say whether they ride through drop out. */
  function solve(net, scenarios, how) {
    return outcomeOf(states(net, scenarios, how));
  }

  /* The same without what changes by it: the states alone, for a search that asks little of many. */
  function states(net, scenarios, { dip = false, record = null } = {}) {
    if (!scenarios.length || scenarios.length > WORD) throw new Error("1 to 32 scenarios");
    const inCondition = ints(net.conditions.length);
    const failed = [];
    const byComponent = new Map();
    let nothingFails = 0;
    scenarios.forEach(({ condition, failed: faults = [] }, k) => {
      inCondition[known(net.condition, condition, "condition")] |= 1 << k;
      if (!faults.length) nothingFails |= 1 << k;
      for (const [id, mode] of faults) {
        if (!byComponent.has(id)) byComponent.set(id, []);
        const here = byComponent.get(id);
        let fault = here.find((one) => one[1] === mode);
        if (!fault) {
          fault = [id, mode, 0];
          here.push(fault);
          failed.push(fault);
        }
        fault[2] |= 1 << k;
      }
    });
    const set = setting(net, everyOf(scenarios.length), inCondition, failed);
    return solveSet(net, set, scenarios, nothingFails, dip, record);
  }

  function solveSet(net, set, scenarios, nothingFails, dip, record) {
    const start = positionsAt(net);
    set.inCondition.forEach((here, c) => {
      if (!here) return;
      const { conducts, chatters } = net.before[c].steady;
      for (const d of net.switching) {
        if (conducts[d] & 1) start.closed[d] |= here;
        // A failure judges anew what chatters in its condition; where nothing fails nothing is judged.
        if (chatters[d] & 1) start.chatters[d] |= here & nothingFails;
      }
    });
    return { net, scenarios, set, dip, after: powerOf(runStage(net, set, start, dip, record)) };
  }

  /* The scenarios in whose condition something held before anything failed. */
  function was(net, set, holds) {
    let mask = 0;
    for (let c = 0; c < set.inCondition.length; c++) {
      if (set.inCondition[c] && holds(net.before[c]) & 1) mask |= set.inCondition[c];
    }
    return mask;
  }

  /* The scenarios of an outcome again, after the crew has acted: `then` is {switches: {id: place},
  pulled: [id], shed: [id], reset: [id]}, as a failure's `then` has it. Resets apply last. */
  function afterTheCrew(outcome, then, record = null) {
    const { net, set, dip } = outcome;
    const crew = setting(net, set.all, set.inCondition, set.failed, then);
    const steady = outcome.after.steady;
    const acted = actedFrom(net, crew, positionsOf(steady), then, dip, record);
    const shed = new Set((then.shed || []).map((id) => known(net.item, id, "item")));
    const alone = net.conditions.map((_, c) => once(() => {
      const here = setting(net, 1, onlyIn(net, c, 1), [], then);
      const from = positionsOf(net.before[c].steady);
      return powerOf(actedFrom(net, here, from, then, dip, null).steady, shed);
    }));
    return outcomeOf({
      net, scenarios: outcome.scenarios, set: crew, dip,
      after: powerOf(acted.steady, shed),
      atOnce: outcome.after,
      beforeResets: acted.before && powerOf(acted.before, shed),
      reset: acted.reset,
      alone: (c) => alone[c](),
      then,
    });
  }

  /* The scenarios of an outcome again, after somebody has taken a source off line: what has opened
  or stalled stays so, as in the crew's stage. */
  function offLine(outcome, source) {
    const { net, scenarios, set, dip, after } = outcome;
    const onLine = copied(set.onLine);
    onLine[known(net.node, source, "source")] = 0;
    const without = { ...set, onLine };
    const steady = runStage(net, without, positionsOf(after.steady), dip, null);
    return outcomeOf({ net, scenarios, set: without, dip, after: powerOf(steady, after.shed) });
  }

  const positionsOf = (steady) => {
    const closed = ints(steady.net.devices.length);
    for (const d of steady.net.switching) closed[d] = steady.conducts[d];
    return { closed, chatters: steady.chatters, opened: steady.opened, stalled: steady.stalled };
  };

  function actedFrom(net, set, start, then, dip, record) {
    const steady = runStage(net, set, start, dip, record);
    const reset = [];
    for (const id of then.reset || []) {
      const d = net.device.get(id);
      const n = net.node.get(id);
      if (d === undefined && n === undefined) throw new Error(`no component '${id}'`);
      if (d === undefined) reset.push([id, steady.stalled[n], steady.stalled, n]);
      else if (!BLOWS.has(net.devices[d].kind)) {
        reset.push([id, steady.opened[d] & ~set.open[d], steady.opened, d]);
      }
    }
    const really = reset.filter(([, mask]) => mask);
    if (!really.length) return { steady, before: null, reset: [] };
    const from = copyOf(positionsOf(steady));
    for (const [id, mask, , number] of really) {
      if (net.device.has(id)) {
        from.opened[number] &= ~mask;
        from.closed[number] &= ~mask;
      } else from.stalled[number] &= ~mask;
    }
    return {
      steady: runStage(net, set, from, dip, record), before: steady,
      reset: really.map(([id, mask]) => [id, mask]),
    };
  }

  // ---- What works

  function powerOf(steady, shed = new Set()) {
    const { net, set } = steady;
    const power = { net, steady, shed };
    const lazily = (name, work) => {
      const made = once(work);
      Object.defineProperty(power, name, { get: made });
    };
    lazily("levels", () => levels(net, set, steady.ways, steady.produces, steady.passes));
    const fedOf = kept((e) => net.supplies[e].map((supply) => through(supply, net.equipment[e].least || 0)));
    lazily("fed", () => net.supplies.map((_, e) => fedOf(e)));
    power.through = (supply) => through(supply, 0);
    const through = (supply, least) => {
      let mask = steady.live[supply.bus];
      if (least) {
        let enough = 0;
        for (const [level, where] of power.levels[supply.bus]) if (level >= least) enough |= where;
        mask &= enough;
      }
      for (const d of supply.through) mask &= steady.conducts[d];
      return mask;
    };
    /* By item, each worked out when it is asked for: a search asks for few. */
    const workingWith = (off) => {
      const one = kept((e) => {
        const fed = fedOf(e);
        let mask = net.equipment[e].all && fed.length ? set.all : 0;
        if (mask) for (const here of fed) mask &= here;
        else for (const here of fed) mask |= here;
        for (const alternatives of net.requires[e]) {
          let any = 0;
          for (const other of alternatives) any |= one(other);
          mask &= any;
        }
        return off.has(e) ? 0 : mask;
      });
      return one;
    };
    power.itemWorks = workingWith(shed);
    lazily("works", () => net.equipment.map((_, e) => power.itemWorks(e)));
    lazily("worksUnshed", () => (shed.size ? net.equipment.map((_, e) => e).map(workingWith(new Set()))
      : power.works));
    /* By source: what its own power, not that of a converter's input, has at every node. */
    lazily("offered", () => net.sources.map((_, s) => {
      const alone = ints(net.nodes.length);
      alone[s] = steady.produces[s];
      return alone[s] ? levels(net, set, steady.ways, alone, steady.passes)
        : net.nodes.map(() => []);
    }));
    lazily("reach", () => net.sources.map((_, s) => {
      const alone = ints(net.nodes.length);
      alone[s] = steady.produces[s];
      return alone[s] ? spread(net, steady.ways, alone, steady.passes, null) : alone;
    }));
    /* By node, by source: it carries load there, alone or with others. */
    lazily("carriers", () => net.nodes.map((_, n) => net.sources.map((_, s) => {
      let mask = 0;
      for (const [level, here] of power.offered[s][n]) {
        for (const [highest, at] of power.levels[n]) {
          if (highest - level <= SHARING) mask |= here & at;
        }
      }
      return mask;
    })));
    lazily("fromMachines", () => {
      const seeds = ints(net.nodes.length);
      net.sources.forEach((source, s) => {
        if (source.kind !== "battery" && source.kind !== "converter") seeds[s] = steady.produces[s];
      });
      return spread(net, steady.ways, seeds, steady.passes, ableOf(net, set, steady.stalled));
    });
    lazily("onBattery", () => net.equipment.map((_, e) => {
      let machine = 0;
      net.supplies[e].forEach((supply, i) => {
        machine |= power.fed[e][i] & power.fromMachines[supply.bus];
      });
      return power.works[e] & ~machine;
    }));
    /* By bus: AC sources that are not synchronised meet there, each by its own power. */
    lazily("conflicts", () => {
      const groups = new Map();
      net.sources.forEach((source, s) => {
        if (source.current !== "ac") return;
        const name = source.synchronised ? `name ${source.synchronised}` : source.id;
        groups.set(name, [...(groups.get(name) || []), s]);
      });
      const found = ints(net.nodes.length);
      if (groups.size < 2) return found;
      for (let n = net.sources.length; n < net.nodes.length; n++) {
        let one = 0;
        for (const group of groups.values()) {
          let reached = 0;
          for (const s of group) reached |= power.reach[s][n];
          found[n] |= one & reached;
          one |= reached;
        }
      }
      return found;
    });
    power.itemNotKnown = (e) => {
      let sound = 0;
      let unsure = 0;
      fedOf(e).forEach((fed, i) => {
        const conflict = power.conflicts[net.supplies[e][i].bus];
        sound |= fed & ~conflict;
        unsure |= fed & conflict;
      });
      return power.itemWorks(e) & unsure & (net.equipment[e].all ? -1 : ~sound);
    };
    lazily("notKnown", () => net.equipment.map((_, e) => power.itemNotKnown(e)));
    // What a node shows with its sources at one end of their ranges: whether more than `limit`.
    const showsMore = (n, limit, end) => {
      if (limit < 0) return -1;
      let mask = 0;
      net.sources.forEach(({ millivolts, range }, s) => {
        const change = range ? range[end] - millivolts : 0;
        let offered = power.offered[s][n];
        if (n < net.sources.length) offered = s === n ? [[millivolts, steady.produces[s]]] : [];
        for (const [level, where] of offered) if (level + change > limit) mask |= where;
      });
      return mask;
    };
    // Of a lamp: where it is lit for certain (0), and where it may be (1).
    power.lit = (terms, end) => hold(net, set, terms, {
      ...steady, shows: (n, limit, below) => showsMore(n, limit, below ? 1 - end : end),
    });
    return power;
  }

  /* What every node shows in a state that is no steady state yet. */
  function levelsOf(net, state) {
    const ways = passages(net, state.set, state.conducts);
    return levels(net, state.set, ways, state.produces, passing(net, state.set, state.down));
  }

  /* A function's providers, counted: [enough, to spare], the scenarios in which at least `need`
  work, and more than that. */
  function counted(net, providers, need, works, all) {
    const reached = ints(need + 2);
    reached[0] = all;
    for (const provider of providers) {
      let mask;
      if (typeof provider === "string") mask = works[known(net.item, provider, "item")];
      else if (provider.any) [mask] = counted(net, provider.any, provider.need, works, all);
      else [mask] = counted(net, provider.all, provider.all.length, works, all);
      for (let n = need + 1; n > 0; n--) reached[n] |= reached[n - 1] & mask;
    }
    return [reached[need], reached[need + 1]];
  }

  // ---- What changes

  function outcomeOf(outcome) {
    const { net, set, after } = outcome;
    const all = set.all;
    const lazily = (name, work) => Object.defineProperty(outcome, name, { get: once(work) });
    const each = (work) => net.equipment.map((_, e) => work(e));
    lazily("worked", () => each((e) => was(net, set, (before) => before.works[e])));
    lazily("turnedOff", () => each((e) => {
      if (!outcome.atOnce) return 0;
      const left = outcome.atOnce.works[e] | after.worksUnshed[e];
      return outcome.worked[e] & ~after.works[e] & left & ~outcome.takenByWhatOpened[e];
    }));
    /* Left on it would not work either, since something opened or stalled in the crew's stage: without
    that it works after the same acts, with what is shorted cut off from the rest; or it worked until a
    reset that did not hold. */
    lazily("takenByWhatOpened", () => {
      const { atOnce: { steady: left }, beforeResets, then } = outcome;
      const { steady } = after;
      let failed = 0;
      for (const [id, mask] of outcome.reset) {
        failed |= mask & (net.device.has(id) ? steady.opened[net.device.get(id)]
          : steady.stalled[net.node.get(id)]);
      }
      let again = failed;
      for (const now of beforeResets ? [steady, beforeResets.steady] : [steady]) {
        for (const kind of ["opened", "stalled"]) now[kind].forEach((mask, i) => { again |= mask & ~left[kind][i]; });
      }
      if (!again) return each(() => 0);
      const apart = { ...steady.set, dead: steady.set.dead.map((mask, n) => mask | steady.set.shorted[n]),
        shorted: ints(net.nodes.length) };
      const { works } = powerOf(actedFrom(net, apart, positionsOf(left), then, false, null).steady);
      return each((e) => ((works[e] & again) | (beforeResets ? beforeResets.worksUnshed[e] & failed : 0))
        & ~after.worksUnshed[e]);
    });
    lazily("lost", () => each((e) => outcome.worked[e] & ~after.works[e] & ~outcome.turnedOff[e]));
    lazily("reduced", () => each((e) => {
      let gone = 0;
      after.fed[e].forEach((fed, i) => { gone |= was(net, set, (b) => b.fed[e][i]) & ~fed; });
      for (const other of net.alternatives[e]) gone |= outcome.worked[other] & ~after.works[other];
      return after.works[e] & gone & outcome.worked[e] & ~after.notKnown[e];
    }));
    lazily("turnedOn", () => each((e) => {
      if (!outcome.alone) return 0;
      let mask = 0;
      for (let c = 0; c < set.inCondition.length; c++) {
        if (set.inCondition[c] && outcome.alone(c).works[e] & 1) mask |= set.inCondition[c];
      }
      return after.works[e] & ~outcome.worked[e] & mask;
    }));
    lazily("comesOn", () => each((e) =>
      after.works[e] & ~outcome.worked[e] & ~outcome.turnedOn[e]));
    lazily("kept", () => each((e) =>
      outcome.worked[e] & after.works[e] & ~outcome.reduced[e] & ~after.notKnown[e]));
    lazily("notKnown", () => each((e) => after.notKnown[e] & outcome.worked[e]));
    lazily("notPowered", () => each((e) => all & ~outcome.worked[e] & ~after.works[e]));
    /* By source: a generator that has failed or stalled, and is live all the same. */
    lazily("driven", () => net.sources.map((source, s) => {
      if (source.kind !== "generator") return 0;
      let out = after.steady.stalled[s];
      for (const [id, mode, mask] of set.failed) if (id === source.id && mode === "lost") out |= mask;
      return after.steady.live[s] & out;
    }));
    lazily("functions", () => net.data.functions.map((f) => {
      const [enough, spare] = counted(net, f.providers, f.need, after.works, all);
      return { lost: all & ~enough, oneLeft: enough & ~spare };
    }));
    return outcome;
  }

  /* One scenario of an outcome in words, as `drop --json` prints it; lists are sorted. */
  function answer(outcome, k = 0) {
    const { net, after, scenarios } = outcome;
    const steady = after.steady;
    const bit = (mask) => (mask >>> k) & 1;
    const items = (masks) => sorted(
      net.equipment.filter((_, e) => bit(masks[e])).map((item) => item.id));
    const nodes = (masks) => sorted(net.nodes.filter((_, n) => bit(masks[n])).map((n) => n.id));
    const devices = (masks) => net.devices.filter((_, d) => bit(masks[d]));
    const sources = (n) => sorted(
      net.sources.filter((_, s) => bit(after.reach[s][n])).map((s) => s.id));
    const volts = (n) => (after.levels[n].find(([, mask]) => bit(mask)) || [0])[0] / 1000;
    return {
      airframe: net.data.airframe,
      condition: scenarios[k].condition,
      failed: (scenarios[k].failed || []).map(([id, mode]) => ({ id, mode })),
      lost: items(outcome.lost),
      reduced: items(outcome.reduced),
      on_battery: items(after.onBattery),
      not_powered: items(outcome.notPowered),
      kept: items(outcome.kept),
      comes_on: items(outcome.comesOn),
      turned_on: items(outcome.turnedOn),
      not_known: items(outcome.notKnown),
      shed: items(outcome.turnedOff),
      nodes: Object.fromEntries(net.nodes.map((node, n) => [node.id, {
        live: Boolean(bit(steady.live[n])), volts: volts(n), sources: sources(n),
      }])),
      contactors: Object.fromEntries(net.devices.filter((d) => COIL.has(d.kind)).map((d) => [
        d.id, bit(steady.conducts[net.device.get(d.id)]) ? "closed" : "open"])),
      functions: Object.fromEntries(net.data.functions.map((f, i) => [f.id,
        bit(outcome.functions[i].lost) ? "lost"
          : bit(outcome.functions[i].oneLeft) ? "one-left" : "kept"])),
      chatter: sorted(devices(steady.chatters).map((d) => d.id)),
      opened: Object.fromEntries(devices(steady.opened).map((d) => [
        d.id, BLOWS.has(d.kind) ? "blown" : "tripped"])),
      stalled: nodes(steady.stalled),
      driven: sorted(net.sources.filter((_, s) => bit(outcome.driven[s])).map((s) => s.id)),
      conflicts: sorted(net.nodes.filter((_, n) => bit(after.conflicts[n])).map((n) => n.id)).map(
        (id) => ({
          node: id,
          sources: sources(net.node.get(id)).filter(
            (s) => net.sources[net.node.get(s)].current === "ac"),
        })),
      lamps: Object.fromEntries(net.indications.map((i, number) => [i, number])
        .filter(([i]) => i.kind === "lamp" || i.kind === "flag")
        .map(([i, number]) => [i.id, !bit(indicationPower(after, number)) ? "blank"
          : lampShown(after, i, k)])),
    };
  }

  /* What a lamp with power shows; it is not certain where its limit is within its node's range. */
  function lampShown(power, { terms }, k) {
    const [certain, possible] = [0, 1].map((end) => (power.lit(terms, end) >>> k) & 1);
    return certain ? "lit" : possible ? "lit or unlit" : "unlit";
  }

  /* The scenarios in which an indication has the power that it needs itself. */
  function indicationPower(power, number) {
    const { connections } = power.net.indications[number];
    return connections.length ? connections.reduce((any, supply) => any | power.through(supply), 0)
      : power.steady.set.all;
  }

  /* Whether any switching device follows volts, or any equipment needs a least of them. */
  const goesByVolts = (net) => net.byVolts || net.equipment.some(({ least }) => least);

  /* The same airframe with some sources at other millivolts, and without a range round them. */
  const atVolts = (net, moved) => load({
    ...net.data,
    sources: net.data.sources.map((source) => (moved.has(source.id)
      ? { ...source, range: null, millivolts: moved.get(source.id) } : source)),
  });

  /* The same airframe with the figures of one load column in every condition. */
  const withLoads = (net, column) => load({
    ...net.data, conditions: net.data.conditions.map((one) => ({ ...one, loads: column })),
  });

  return {
    load, atVolts, withLoads, goesByVolts, solve, states, afterTheCrew, offLine, answer, indicationPower, lampShown, once, runStage, powerOf, outcomeOf, positionsOf,
    copyOf, conducting, powered, levelsOf, hold, known, sorted, once, MODES, RARE, BLOWS, COIL, SHARING,
    SWITCHING,
  };
})();
