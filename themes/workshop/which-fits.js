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
    if (spared(net, condition, failed, [])) return [];
    return net.switching.map((d) => net.devices[d]).filter((device) =>
      !device.ridesThrough && spared(net, condition, failed, [device]));
  }

  /* Whether the failure alone does as in answer 1 if these devices ride through a dip as well. */
  function spared(net, condition, failed, riding) {
    const scenario = { condition, failed: failed.map(({ id, mode }) => [id, mode]) };
    const answer = (of, dip) => engine.answer(engine.solve(of, [scenario], { dip }));
    const devices = net.devices.map((one) => (riding.includes(one) ? { ...one, ridesThrough: true } : one));
    const other = Object.create(net, { devices: { value: devices } });
    return !headline.differs(answer(net, false), answer(other, true));
  }

  /* [those that decide and that the catalogue says drop out, those on which it is silent]. */
  function thatDecide(net, rides, drops) {
    const decide = deciding(net, rides, drops);
    return [decide.filter((d) => d.dropsOut), decide.filter((d) => !d.dropsOut)];
  }

  /* Whether these, which the catalogue says drop out, rule out the answer in which all ride through. */
  const ruledOut = (net, { condition, failed }, said, unsaid) =>
    said.length > 0 && (!unsaid.length || !spared(net, condition, failed, unsaid));

  /* Whether the answer in which contactors drop out is the one to expect. */
  const dropsOut = (net, rides, drops) => isOther(rides, drops) && ruledOut(net, rides, ...thatDecide(net, rides, drops));

  /* Whether they differ in what is lost or in what conducts: amps and minutes follow that. */
  function isOther(rides, drops) {
    const conducts = ({ outcome }) => String([...outcome.after.steady.conducts].map((mask) => mask & 1));
    return headline.differs(rides, drops) || conducts(rides) !== conducts(drops);
  }

  /* A sentence or two, after the one that says what follows in the other answer: if contactors drop
     out or, where the answer shown `isDip`, if they ride through. */
  function sentence(net, names, rides, drops, isDip) {
    const [said, unsaid] = thatDecide(net, rides, drops);
    const named = (devices) => headline.listed(names, devices.map((d) => d.id));
    if (!said.length && !unsaid.length) return "The catalogue does not say which of the two fits.";
    const says = `The catalogue says that ${named(said)} ${said.length > 1 ? "do" : "does"}${isDip ? " not" : ""}`;
    const expect = isDip ? "do not expect this" : "expect this";
    if (!unsaid.length) return `${says}: ${expect}.`;
    const [do_, types] = unsaid.length > 1 ? ["do", "they are ride-through types"]
      : ["does", "it is a ride-through type"];
    const silent = `not say whether ${named(unsaid)} ${do_}: look up if ${types}.`;
    if (!said.length) return `The catalogue does ${silent}`;
    return ruledOut(net, rides, said, unsaid) ? `${says}: ${expect}. It does ${silent}` : `${says}, and does ${silent}`;
  }

  return { dropsOut, isOther, sentence };
})();
