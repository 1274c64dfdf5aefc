/* What to look up where the catalogue does not say whether contactors ride through or drop out, and the
two answers differ. The devices are those of the package's `dip_decides.py`, the sentence is that of its
`headline_text.py`. */
"use strict";

const whichFits = (() => {
  function reachable(onward, start) {
    const reached = new Set([start]);
    for (const at of reached) (onward.get(at) || []).forEach((next) => reached.add(next));
    return reached;
  }

  const isOpen = ({ ridesThrough, dropsOut }) => !ridesThrough && !dropsOut;

  /* The devices on which it depends which answer fits, of those on which the catalogue is silent: what
     follows others decides only if these follow it in turn. */
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
    const found = devices.filter(({ id, ...says }) => isOpen(says)
      && devices.every((lead) => !reached.get(lead.id).has(id) || reached.get(id).has(lead.id)));
    return found.length ? found : makingTheDifference(net, one);
  }

  /* Those without which, if they rode through, the failure alone does as in answer 1. */
  function makingTheDifference(net, { condition, failed }) {
    if (spared(net, condition, failed, [])) return [];
    return net.switching.map((d) => net.devices[d]).filter((device) =>
      isOpen(device) && spared(net, condition, failed, [device]));
  }

  /* Whether the failure alone does as in answer 1 if these devices ride through a dip as well. */
  function spared(net, condition, failed, riding) {
    const scenario = { condition, failed: failed.map(({ id, mode }) => [id, mode]) };
    const answer = (of, dip) => engine.answer(engine.solve(of, [scenario], { dip }));
    const devices = net.devices.map((one) => (riding.includes(one) ? { ...one, ridesThrough: true } : one));
    const other = Object.create(net, { devices: { value: devices } });
    return !headline.differs(answer(net, false), answer(other, true));
  }

  /* A sentence after the one that says what follows in the other answer. */
  function sentence(net, names, rides, drops) {
    const devices = deciding(net, rides, drops);
    if (!devices.length) return "The catalogue does not say which of the two fits.";
    const [do_, types] = devices.length > 1 ? ["do", "they are ride-through types"]
      : ["does", "it is a ride-through type"];
    const named = headline.listed(names, devices.map((d) => d.id));
    return `The catalogue does not say whether ${named} ${do_}: look up if ${types}.`;
  }

  return { sentence };
})();
