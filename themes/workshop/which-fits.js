/* What to look up where the catalogue does not say whether contactors ride through or drop out, and the
two answers differ. The devices are those of the package's `dip_decides.py`, the sentence is that of its
`headline_text.py`. */
"use strict";

const whichFits = (() => {
  /* The devices on which it depends which answer fits, of those on which the catalogue is silent: those
     that make a difference if they alone drop out, or if they alone of all ride through. */
  function deciding(net, condition, failed) {
    const scenario = [{ condition, failed }];
    const moving = new Set();
    let start;
    engine.solve(net, scenario, { dip: true, record: {
      begin() {}, restart() {},
      step(set, { closed }) {
        start = start || closed.slice();
        for (const d of net.switching) if ((closed[d] ^ start[d]) & 1) moving.add(d);
      },
    } });
    const [certain, every] = net.droppingOut;
    const moved = every.filter((d) => moving.has(d) && !certain.includes(d));
    const answer = (dropping) => {
      const value = [certain, every.filter((d) => certain.includes(d) || dropping.includes(d))];
      const outcome = engine.solve(Object.create(net, { droppingOut: { value } }), scenario, { dip: true });
      return JSON.stringify(headline.said(net, { ...engine.answer(outcome), overloaded: figures.overloaded(outcome),
        overRating: figures.overRating(outcome), given: figures.ampsOf(outcome.after, 0).sources }));
    };
    const [first, second] = [answer([]), answer(moved)];
    if (first === second) return [];
    return moved.filter((d) => answer([d]) !== first || answer(moved.filter((other) => other !== d)) !== second)
      .map((d) => net.devices[d].id);
  }

  /* A sentence after the one that says what follows in the other answer. */
  function sentence(net, names, { condition, failed }) {
    const devices = deciding(net, condition, failed.map(({ id, mode }) => [id, mode]));
    if (!devices.length) return "The catalogue does not say which of the two fits.";
    const [do_, types] = devices.length > 1 ? ["do", "they are ride-through types"]
      : ["does", "it is a ride-through type"];
    const named = headline.listed(names, devices);
    return `The catalogue does not say whether ${named} ${do_}: look up if ${types}.`;
  }

  return { sentence };
})();
