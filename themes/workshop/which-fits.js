/* Whether contactors ride through or drop out in this airframe: what the catalogue says of those that
decide between the two answers, or what to look up. The devices are those of the package's
`dip_decides.py`, the sentences those of its `headline_text.py`. */
"use strict";

const whichFits = (() => {
  function reachable(onward, start) {
    const reached = new Set([start]);
    for (const at of reached) (onward.get(at) || []).forEach((next) => reached.add(next));
    return reached;
  }

  /* The devices that do not ride through and on which it depends which answer fits: what follows
     others decides only if these follow it in turn. */
  function deciding(net, one, other) {
    const conducts = (answer, d) => answer.outcome.after.steady.conducts[d] & 1;
    const devices = net.switching.filter((d) => conducts(one, d) !== conducts(other, d))
      .map((d) => net.devices[d]);
    const changed = new Set([...devices.map((d) => d.id),
      ...Object.keys(one.nodes).filter((n) => one.nodes[n].live !== other.nodes[n].live)]);
    const onward = new Map([...changed].map((id) => [id, []]));
    const follows = (id, lead) => {
      if (changed.has(id) && changed.has(lead)) onward.get(lead).push(id);
    };
    for (const [from, to, through] of net.data.branches) {
      for (const device of through) [from, to].forEach((node) => follows(node, device));
      follows(from, to);
      follows(to, from);
    }
    for (const { id, closesWhen } of devices) {
      for (const { live, dead, closed, open, above, below } of closesWhen) {
        for (const named of [live, dead, closed, open, above, below]) {
          (Array.isArray(named) ? named : Object.keys(named || {})).forEach((lead) => follows(id, lead));
        }
      }
    }
    const reached = new Map(devices.map(({ id }) => [id, reachable(onward, id)]));
    const found = devices.filter(({ id, ridesThrough }) => !ridesThrough
      && devices.every((lead) => !reached.get(lead.id).has(id) || reached.get(id).has(lead.id)));
    return found.length ? found : makingTheDifference(net, one);
  }

  /* Those without which, if they rode through, the failure alone does as in answer 1. */
  function makingTheDifference(net, { condition, failed }) {
    const scenario = { condition, failed: failed.map(({ id, mode }) => [id, mode]) };
    const answer = (of, dip) => engine.answer(engine.solve(of, [scenario], { dip }));
    const first = answer(net, false);
    if (!headline.differs(first, answer(net, true))) return [];
    return net.switching.map((d) => net.devices[d]).filter((device) => {
      if (device.ridesThrough) return false;
      const devices = net.devices.map((one) => (one === device ? { ...one, ridesThrough: true } : one));
      return !headline.differs(first, answer(Object.create(net, { devices: { value: devices } }), true));
    });
  }

  /* Whether the catalogue says of all that decide that they drop out: that answer is to be expected. */
  function dropsOut(net, rides, drops) {
    const decide = deciding(net, rides, drops);
    return decide.length > 0 && decide.every((d) => d.dropsOut);
  }

  /* A sentence, after one that says what follows in the other answer: if contactors drop out or,
     where the answer shown `isDip`, if they ride through. */
  function sentence(net, names, rides, drops, isDip) {
    const decide = deciding(net, rides, drops);
    const said = decide.filter((d) => d.dropsOut);
    const unsaid = decide.filter((d) => !d.dropsOut);
    const named = (devices) => headline.listed(names, devices.map((d) => d.id));
    if (!decide.length) return "The catalogue does not say which of the two fits.";
    const not = isDip ? " not" : "";
    const says = said.length ? ` says that ${named(said)} ${said.length > 1 ? "do" : "does"}${not}` : "";
    if (!unsaid.length) return `The catalogue${says}: ${isDip ? "do not expect" : "expect"} this.`;
    const [do_, types] = unsaid.length > 1 ? ["do", "they are ride-through types"]
      : ["does", "it is a ride-through type"];
    return `The catalogue${says && `${says}, and`} does not say whether ${named(unsaid)} ${do_}: look up if ${types}.`;
  }

  return { dropsOut, sentence };
})();
