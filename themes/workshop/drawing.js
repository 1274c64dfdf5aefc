/* The live drawing: one drawing of an airframe, its parts painted as the engine answers.

`drawing.states(outcome, k)` gives the state of every part; `drawing.make(live)` makes the drawing.
The states and their order are those of the package's `drawing_states.py`. */
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

  /* The drawing as an element, and how to paint it. `live` is what `live.js` has. */
  function make(live) {
    const holder = document.createElement("div");
    holder.innerHTML = live.drawing;
    const svg = holder.firstElementChild;
    const elements = [...svg.querySelectorAll(".part")];
    const plain = elements.map((element) => element.getAttribute("class").trim());
    const shown = elements.map(() => "");
    const byId = new Map();
    elements.forEach((element) => {
      const id = element.getAttribute("data-part");
      if (!id || element.classList.contains("wire")) {
        element.setAttribute("aria-hidden", "true");
        return;
      }
      if (!byId.has(id)) byId.set(id, []);
      byId.get(id).push(element);
    });
    /* Only what changes is touched: a tap changes few parts of many. */
    function paint(all) {
      elements.forEach((element, i) => {
        const state = all[live.parts[i]];
        if (shown[i] === state) return;
        shown[i] = state;
        const classes = state.split(" ").map((word) => ` state-${word}`).join("");
        element.setAttribute("class", plain[i] + classes);
      });
    }
    const stateOf = (id) => shown[elements.indexOf(byId.get(id)[0])];
    return { svg, paint, byId, stateOf, word: (id) => WORDS[stateOf(id)] };
  }

  return { states, make, WORDS };
})();
