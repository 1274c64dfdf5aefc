/* The live drawing: one drawing of an airframe, its parts painted as the engine answers.

`drawing.states(outcome, k)` gives the state of every part; `drawing.make(live)` makes the drawing;
`drawing.outline(live, states)` is the same in words, and `drawing.change(live, was, now)` what is
different in two states. The states and their order are those of the package's
`drawing_states.py`. */
"use strict";

const drawing = (() => {
  const POWER = ["dead", "battery", "live"]; // what may be on a wire, the better the later
  const better = (one, other) => (POWER.indexOf(one) >= POWER.indexOf(other) ? one : other);

  /* The state of every part in scenario k: the nodes in their order, then each branch, its wires
  before its devices. A failed device that still conducts is `failed closed`. */
  function states(outcome, k = 0) {
    const { net, after } = outcome;
    const { steady } = after;
    const bit = (mask) => (mask >>> k) & 1;
    const failed = new Set((outcome.scenarios[k].failed || []).map(([id]) => id));
    const power = net.nodes.map((_, n) => (!bit(steady.live[n]) ? "dead"
      : bit(after.fromMachines[n]) ? "live" : "battery"));
    const found = net.nodes.map((node, n) => (failed.has(node.id) ? "failed" : power[n]));
    for (const branch of net.branches) {
      const conducts = branch.through.map((d) => Boolean(bit(steady.conducts[d])));
      const diode = branch.through.map((d) => net.devices[d].kind === "diode");
      const near = power[branch.origin];
      const far = branch.intoConverter ? "dead" : power[branch.target];
      const wires = [];
      for (let w = 0; w <= branch.through.length; w++) {
        const forth = conducts.slice(0, w).every(Boolean) ? near : "dead";
        const back = conducts.slice(w).every(Boolean) && !diode.slice(w).some(Boolean);
        wires.push(better(forth, back ? far : "dead"));
      }
      found.push(...wires);
      branch.through.forEach((d, w) => {
        // A diode is judged by its near side alone: what is after it does not pass back.
        const passing = diode[w] ? wires[w] : better(wires[w], wires[w + 1]);
        found.push(failed.has(net.devices[d].id)
          ? conducts[w] ? "failed closed" : "failed"
          : conducts[w] ? passing : "open");
      });
    }
    return found;
  }

  const WORDS = {
    live: "live", battery: "on battery only", dead: "dead", open: "open", failed: "failed",
    "failed closed": "failed, stuck closed",
  };

  /* Every source and bus, every device, and of every branch the numbers of its parts, as `states`
  numbers them. */
  function plan(wiring) {
    const nodes = [...wiring.sources, ...wiring.buses.map((bus) => ({ ...bus, kind: "bus" }))];
    const byId = new Map([...nodes, ...wiring.devices].map((one) => [one.id, one]));
    const numbers = new Map(nodes.map((node, i) => [node.id, i]));
    const feeds = new Set(wiring.feeds);
    let next = nodes.length;
    const branches = wiring.branches.map(([from, to, through], i) => {
      const first = next + through.length + 1; // after its wires
      next = first + through.length;
      return {
        from, to, through, ends: [numbers.get(from), numbers.get(to)],
        devices: through.map((_, k) => first + k),
        oneWay: feeds.has(i) || through.some((id) => byId.get(id).kind === "diode"),
      };
    });
    return { nodes, byId, numbers, branches };
  }

  /* The state of a part in words: of a device that conducts, that it is closed or intact. */
  function stateWord(live, kind, state) {
    if (!live.conducting || !(kind in live.conducting)) return WORDS[state];
    if (state === "failed closed") return "failed, closed";
    if (state === "failed") return "failed, open";
    return state === "open" ? "open" : live.conducting[kind];
  }

  /* The drawing in words, from each source through its devices to the buses: a list of
  {name, state, through: [[name, state]], root, branches: [the same], elsewhere}. Every branch is in it
  once, where the path from the nearest source reaches it; what a bus that several branches reach
  feeds is below the first of them, and the others are marked `elsewhere`. */
  function outline(live, states) {
    const { nodes, byId, numbers, branches } = plan(live.wiring);
    const at = new Map(nodes.map((node) => [node.id, []]));
    const converters = new Set(live.wiring.feeds.map((i) => live.wiring.branches[i][1]));
    for (const branch of branches) {
      at.get(branch.from).push(branch);
      if (!branch.oneWay && branch.to !== branch.from) at.get(branch.to).push(branch);
    }
    const roots = live.wiring.sources.map((s) => s.id).filter((id) => !converters.has(id));
    const met = new Set(roots);
    const listed = new Set();
    const steps = new Map(nodes.map((node) => [node.id, []]));
    const todo = [...roots];
    const waiting = nodes.map((node) => node.id).filter((id) => !met.has(id));
    while (todo.length || waiting.length) {
      if (!todo.length) {
        // What no source reaches comes last.
        const rest = waiting.shift();
        if (met.has(rest)) continue;
        met.add(rest);
        roots.push(rest);
        todo.push(rest);
      }
      const here = todo.shift();
      for (const branch of at.get(here)) {
        if (listed.has(branch)) continue;
        listed.add(branch);
        const to = branch.from === here ? branch.to : branch.from;
        steps.get(here).push({ branch, to, onward: !met.has(to) });
        if (!met.has(to)) { met.add(to); todo.push(to); }
      }
    }
    const item = (id, step) => {
      const onward = !step || step.onward;
      const { name, kind } = byId.get(id);
      return {
        name, root: !step, state: stateWord(live, kind, states[numbers.get(id)]),
        through: step ? step.branch.through.map((d, k) => [byId.get(d).name,
          stateWord(live, byId.get(d).kind, states[step.branch.devices[k]])]) : [],
        branches: onward ? steps.get(id).map((next) => item(next.to, next)) : [],
        elsewhere: !onward && steps.get(id).length > 0,
      };
    };
    return roots.map((id) => item(id));
  }

  /* What is different between two states, in words; what has failed itself is not repeated.
  Without a state before it, what is not as it is in full health. */
  function change(live, was, now, failed = []) {
    const { nodes, byId, numbers, branches } = plan(live.wiring);
    const own = new Set(failed);
    const closed = (state) => !["open", "failed"].includes(state);
    const opens = new Set();
    const closes = new Set();
    for (const branch of branches) {
      branch.through.forEach((id, k) => {
        if (own.has(id) || !was) return;
        const [before, after] = [was, now].map((states) => closed(states[branch.devices[k]]));
        if (before && !after) opens.add(id);
        if (!before && after) closes.add(id);
      });
    }
    const buses = nodes.filter((node) => node.kind === "bus").map((node) => node.id);
    const power = (states, id) => {
      const state = states[numbers.get(id)];
      return state === "failed" ? "dead" : state;
    };
    const turned = (word, before) => buses.filter((id) => power(now, id) === word
      && (was ? power(was, id) !== word && (!before || power(was, id) === before) : !before));
    const onBattery = turned("battery");
    // Of a source only that its terminals come live: what has failed is drawn so.
    const terminals = (was ? nodes : []).filter(({ id, kind }) => !["bus", "converter"].includes(kind)
      && was[numbers.get(id)] === "dead" && power(now, id) !== "dead").map(({ id }) => id);
    const left = buses.map((id) => power(now, id));
    const every = onBattery.length > 1 && !left.includes("live");
    const names = (ids) => [...ids].map((id) => byId.get(id).name).join(", ");
    const rows = [
      ["opens", names(opens)], ["closes", names(closes)], ["dead", names(turned("dead"))],
      ["on battery only", every ? "every bus that is still live" : names(onBattery)],
      ["live", was ? names([...turned("live", "dead"), ...terminals]) : ""],
      ["no longer on battery only", was ? names(turned("live", "battery")) : ""],
    ].filter(([, which]) => which);
    if (!rows.length) return was ? "Nothing else changes in the drawing." : "Every bus is live.";
    const text = rows.map(([word, which]) => `${word}: ${which}`).join("; ");
    return was ? `${text[0].toUpperCase()}${text.slice(1)}.` : `With nothing failed, ${text}.`;
  }

  /* The drawing as an element, and how to paint it. `live` is what `live.js` has. For assistive
  technology its parts are buttons: one is reached with the tab key, the others along the feeders
  with the arrow keys, and Enter is a click. */
  function make(live) {
    const holder = document.createElement("div");
    holder.innerHTML = live.drawing;
    const svg = holder.firstElementChild;
    const elements = [...svg.querySelectorAll(".part")];
    const plain = elements.map((element) => element.getAttribute("class").trim());
    const shown = elements.map(() => "");
    const numbers = new Map(elements.map((element, i) => [element, i]));
    const { byId: records, branches } = plan(live.wiring);
    const byId = new Map();
    const byPart = new Map();
    const titles = new Map();
    elements.forEach((element, i) => {
      const id = element.getAttribute("data-part");
      if (!id || element.classList.contains("wire")) {
        element.setAttribute("aria-hidden", "true");
        return;
      }
      if (!byId.has(id)) byId.set(id, []);
      byId.get(id).push(element);
      byPart.set(live.parts[i], element);
      const title = element.querySelector("title");
      titles.set(element, title.textContent);
      element.setAttribute("role", "button");
      element.setAttribute("tabindex", byPart.size === 1 ? "0" : "-1");
    });
    // Along every branch each part leads to the next.
    const linked = new Map([...titles.keys()].map((element) => [element, []]));
    for (const branch of branches) {
      const chain = [branch.ends[0], ...branch.devices, branch.ends[1]].map((n) => byPart.get(n));
      chain.slice(1).forEach((element, k) => {
        if (!element || !chain[k]) return;
        linked.get(element).push(chain[k]);
        linked.get(chain[k]).push(element);
      });
    }
    svg.addEventListener("keydown", (event) => {
      const part = event.target.closest("[role=button]");
      if (!part || event.ctrlKey || event.altKey || event.metaKey) return;
      const way = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
      if (event.key === "Enter" || event.key === " ") {
        part.dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true }));
      } else if (way[event.key]) {
        const next = towards(part, ...way[event.key]);
        if (next) next.focus({ preventScroll: true });
      } else return;
      event.preventDefault();
      event.stopPropagation();
    });
    svg.addEventListener("focusin", (event) => {
      const part = event.target.closest("[role=button]");
      if (part) stopAt(part);
    });
    function stopAt(part) {
      for (const other of titles.keys()) other.setAttribute("tabindex", other === part ? "0" : "-1");
    }
    /* The part that is nearest in a direction: along a feeder, else anywhere. */
    function towards(part, right, down) {
      const from = part.getBBox();
      const nearest = (others, least) => {
        let best = null;
        for (const other of others) {
          const box = other.getBBox();
          const gap = (low, high, low2, high2) => Math.max(low2 - high, 0) - Math.max(low - high2, 0);
          const x = box.x + box.width / 2 - from.x - from.width / 2;
          const y = box.y + box.height / 2 - from.y - from.height / 2;
          const ahead = x * right + y * down;
          const aside = Math.abs(right ? gap(from.y, from.y + from.height, box.y, box.y + box.height)
            : gap(from.x, from.x + from.width, box.x, box.x + box.width));
          const cost = Math.abs(ahead) + 3 * aside;
          if (ahead > 4 && ahead > least * aside && (!best || cost < best[0])) best = [cost, other];
        }
        return best && best[1];
      };
      return nearest(linked.get(part), 0.3)
        || nearest([...titles.keys()].filter((other) => other !== part), 1);
    }
    /* Only what changes is touched: a tap changes few parts of many. */
    function paint(all) {
      elements.forEach((element, i) => {
        const state = all[live.parts[i]];
        if (shown[i] === state) return;
        shown[i] = state;
        const classes = state.split(" ").map((word) => ` state-${word}`).join("");
        element.setAttribute("class", plain[i] + classes);
        const title = titles.get(element);
        if (title) element.setAttribute("aria-label", `${title}: ${wordOf(element)}`);
      });
    }
    const stateOf = (element) => shown[numbers.get(element)];
    const wordOf = (element) => {
      const state = stateOf(element);
      const { kind } = records.get(element.getAttribute("data-part"));
      const word = stateWord(live, kind, state);
      const closed = word !== WORDS[state] && !state.startsWith("failed") && word;
      return closed ? `${word}, ${WORDS[state]}` : word || WORDS[state];
    };
    return {
      svg, paint, byId, branches, stopAt, stateOf: (id) => stateOf(byId.get(id)[0]), wordOf,
      word: (id) => wordOf(byId.get(id)[0]),
    };
  }

  /* An element of SVG with its attributes. */
  function element(tag, attributes) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    return made;
  }

  return { states, make, outline, change, element, WORDS };
})();
