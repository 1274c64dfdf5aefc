/* The answers to one set of failures and acts, and the sentences that say them.

Three answers: the one to expect; contactors drop out (`dip`) of which the catalogue does not say it;
what is overloaded in the first opens. The sentences are those of the package's `headline_text.py`. */
"use strict";

Object.assign(headline, (() => {
  const MORE = [["comes_on", "will come on"], ["turned_on", "will come on"],
    ["shed", "will be turned off"], ["chatter", "will chatter"], ["driven", "may be driven by other sources"]];
  const LEFT = [["reduced", "with one supply or alternative less"],
    ["on_battery", "on battery only"], ["not_known", "in a state that is not known"]];

  const NEGLIGIBLE_AMPS = figures.ratio(1, 20); // A
  const { MOST_NAMED, counted, few, joined, listed, same, differs } = headline;

  /* What is overloaded in an answer, or has no battery left to take over: [what these do, ids]. */
  function loaded(net, normal, answer) {
    const backed = ({ nodes }, id) => nodes[id].sources.some((s) => net.kind.get(s) === "battery");
    const { overloaded, overRating } = answer;
    return [
      ["must open by overload", Object.keys(overloaded).filter((id) => overloaded[id] === "must")],
      ["will be over rating", Object.keys(overRating).filter((id) => !overloaded[id])],
      ["will have no battery left to take over", net.data.buses.map((b) => b.id).filter((id) =>
        answer.nodes[id].live && backed(normal, id) && !backed(answer, id))],
    ];
  }

  /* The same of another answer, where it is not so in the one that is shown. */
  function onlyThen(net, normal, shown, other) {
    const here = loaded(net, normal, shown).map(([, ids]) => ids);
    here[1] = Object.keys({ ...shown.overRating, ...shown.overloaded });
    // Of a bus that is dead here it follows from what is not lost then.
    here[2].push(...Object.keys(shown.nodes).filter((id) => !shown.nodes[id].live));
    const more = net.sources.filter(({ kind }, s) => kind === "battery" && other.given.has(s)
      && other.given.get(s).minus(shown.given.get(s) || figures.NOTHING).compare(NEGLIGIBLE_AMPS) >= 0);
    return [...loaded(net, normal, other).map(([words, ids], i) => [words, ids.filter((id) => !here[i].includes(id))]),
      ["will give more amps and be flat sooner", more.map(({ id }) => id)]].filter(([, ids]) => ids.length);
  }

  /* Whether another answer differs in a way that a reader must know. */
  const isNews = (net, normal, one, other) => differs(one, other) || onlyThen(net, normal, one, other).length > 0;

  const known = new WeakMap();

  /* The answer of a condition with nothing failed, worked out once. */
  function healthy(net, condition) {
    if (!known.has(net)) known.set(net, new Map());
    const of = known.get(net);
    if (!of.has(condition)) of.set(condition, answered(engine.solve(net, [{ condition, failed: [] }])));
    return of.get(condition);
  }

  /* What is set, answered: `set` is {condition, failed: [[id, mode]], then, reading}. */
  function solved(net, set) {
    const scenario = { condition: set.condition, failed: set.failed };
    const acts = acted(set.then);
    const one = (dip) => {
      const atOnce = engine.solve(net, [scenario], { dip });
      return acts ? engine.afterTheCrew(atOnce, set.then) : atOnce;
    };
    const expected = answered(one(false));
    // Where nothing is shorted no contactor drops out.
    const dips = set.failed.some(([, mode]) => mode === "shorted") ? answered(one(true)) : expected;
    const normal = healthy(net, set.condition);
    const reading = set.reading || "";
    const isDip = reading === "dip";
    const closed = isDip ? dips : expected;
    const openedIn = ({ outcome, overloaded }) => {
      const opened = figures.whatIsOverloadedOpens(outcome);
      return opened && { ...answered(opened), overloaded };
    };
    const opens = openedIn(closed);
    const shown = reading === "overload" && opens ? opens : closed;
    const contactors = isDip ? expected : dips;
    const isSaid = (other, ...known) => Boolean(other) && known.every((one) => !one || isNews(net, normal, one, other));
    const isClosed = shown === closed || !differs(shown, closed);
    // What is overloaded opens with contactors that do the one or the other: that is another question.
    const then = isClosed && contactors !== closed && openedIn(contactors);
    return {
      shown, normal, acted: acts, reading, isDip, expected, dips,
      otherContactors: isClosed && isSaid(contactors, shown) && contactors,
      opensToo: isSaid(then, shown, contactors, opens) && then,
      overload: shown === closed && isSaid(opens, shown) ? opens : null, opens,
      opened: shown === closed && opens && opens.outcome,
      isNews: (than) => isNews(net, normal, than, shown) || isNews(net, normal, shown, than),
    };
  }

  /* Whether a provider of a function works, where these items do; a group counts as one. */
  const provided = (one, works) => (typeof one === "string" ? works.has(one) : one.any
    ? one.any.filter((each) => provided(each, works)).length >= one.need : one.all.every((each) => provided(each, works)));

  /* Whether a function that is lost would go on with what the crew turns off. */
  const turnedOff = ({ providers, need }, { kept, reduced, comes_on, turned_on, not_known, shed }) =>
    provided({ any: providers, need }, new Set([kept, reduced, comes_on, turned_on, not_known, shed].flat()));

  const acted = (then) => Boolean(then && ["switches", "pulled", "shed", "reset"].some((field) =>
    (Array.isArray(then[field]) ? then[field] : Object.keys(then[field] || {})).length));

  /* One outcome's answer, with its outcome, what is over its rating and what is overloaded. */
  function answered(outcome) {
    const [overRating, overloaded] = [figures.overRating(outcome), figures.overloaded(outcome)];
    const given = figures.ampsOf(outcome.after, 0).sources;
    return { ...engine.answer(outcome), outcome, overRating, overloaded, given };
  }

  /* {first, more}: the first sentence, and whatever else is true, a sentence each. */
  function sentences(net, names, answers) {
    const { shown, normal, isDip, expected, dips, otherContactors, opensToo, overload } = answers;
    const { overloaded } = shown;
    const named = (ids) => listed(names, ids);
    const working = normal.kept.length + normal.reduced.length + normal.not_known.length;
    const functionsLost = net.data.functions.filter((f) =>
      shown.functions[f.id] === "lost" && normal.functions[f.id] !== "lost");
    const newlyOnBattery = shown.on_battery.filter((id) => !normal.on_battery.includes(id));
    const more = [];
    const verb = (ids, one, many) => (ids.length === 1 ? one : many);
    if (shown.comes_on.length) more.push(`Comes on: ${named(shown.comes_on)}.`);
    if (shown.turned_on.length) more.push(`What you do turns on ${named(shown.turned_on)}.`);
    if (shown.shed.length) more.push(`What you do turns off ${named(shown.shed)}.`);
    const comesLive = [...net.data.buses, ...net.sources].filter(({ id }) => shown.nodes[id].live
      && !normal.nodes[id].live && !shown.nodes[id].sources.includes(id));
    const live = comesLive.filter(({ kind }) => kind !== "generator").map(({ id }) => id);
    if (live.length) more.push(`Power now, and none before: ${named(live)}.`);
    const where = joined(shown.conflicts.map(({ node }) => names.get(node)));
    if (shown.not_known.length) {
      more.push(`AC sources that are not synchronised meet on ${where}: whether ${counted(shown.not_known.length, "item")} there ${verb(shown.not_known, "works", "work")} is not known; what depends on this, functions, meters and lamps too, is shown as if ${verb(shown.not_known, "it does", "they do")}.`);
    } else if (where) more.push(`AC sources that are not synchronised meet on ${where}.`);
    const off = comesLive.filter(({ kind }) => kind === "generator").map(({ id }) => id);
    for (const id of new Set([...shown.driven, ...off])) {
      more.push(`Does not produce, though its terminals are live: ${names.get(id)}. Other sources may drive it as a motor; what that takes is in no figure.`);
    }
    for (const id of engine.sorted([...(shown.outcome.reset || [])].filter(([, mask]) => mask & 1).map(([id]) => id))) {
      const again = shown.stalled.includes(id) ? "Stalls" : id in shown.opened ? "Trips" : "";
      if (again) more.push(`${again} again once reset: ${names.get(id)}.`);
    }
    const stuck = shown.failed.filter(({ id, mode }) => mode === "stuck-closed"
      && shown.outcome.after.steady.conducts[net.device.get(id)] & 1).map((f) => f.id);
    if (stuck.length) more.push(`No longer opens: ${named(stuck)}.`);
    if (shown.chatter.length) {
      more.push(`Would chatter: ${named(shown.chatter)}. What closes such a device also opens it. It counts as open here; in the aircraft it may do anything.`);
    }
    if (shown.reduced.length && !shown.lost.length) {
      more.push(`${counted(shown.reduced.length, "item")} ${verb(shown.reduced, "works", "work")} with one supply or alternative less.`);
    }
    if (newlyOnBattery.length) {
      more.push(`${newlyOnBattery.length} ${verb(newlyOnBattery, "item is", "items are")} now on battery only.`);
    }
    const [[, must], , [, noReserve]] = loaded(net, normal, shown);
    if (noReserve.length) {
      more.push(`No battery left to take over: ${noReserve.length > MOST_NAMED ? `${noReserve.length} buses` : named(noReserve)}.`);
    }
    for (const word of ["must", "may"]) {
      const devices = Object.keys(overloaded).filter((id) => overloaded[id] === word);
      // Where one that opens relieves others, which does so first.
      const isFirst = (id) => word === "must" && id in (answers.opens || shown).opened;
      const [firsts, relieved] = [devices.filter(isFirst), devices.filter((id) => !isFirst(id))];
      const either = [...firsts, ...relieved].map((id) => names.get(id));
      const them = firsts.length && relieved.length ? `${joined(either, "or")}, ${named(firsts)} first as the most overloaded` : named(devices);
      if (devices.length) more.push(`Overloaded and ${word} open: ${them}.`);
    }
    // The sources that reach what these carry, through converters too, and carry nothing there.
    const inReserve = (ids) => {
      const { steady, reach, carriers } = shown.outcome.after;
      const carrying = new Set(ids.map((id) => net.node.get(id)));
      const found = new Set();
      const carried = (n) => [...carrying].some((s) => carriers[n][s] & 1);
      for (let times = 0; times < net.sources.length; times++) {
        net.nodes.forEach((_, n) => net.sources.forEach((_, s) => {
          if (carried(n) && reach[s][n] & 1 && !(carriers[n][s] & 1)) found.add(s);
        }));
        for (const { origin, target, through } of net.converterFeeds.map((i) => net.branches[i])) {
          if (carried(origin) && through.every((d) => steady.conducts[d] & 1)) carrying.add(target);
        }
      }
      return net.sources.filter((_, s) => found.has(s) && !carrying.has(s)).map(({ id }) => id);
    };
    const together = new Map();
    for (const [id, { percent, bound, allowedFor }] of Object.entries(shown.overRating)) {
      if (overloaded[id]) continue;
      const time = allowedFor === "no time" ? ", over its short-time ratings"
        : allowedFor ? `, allowed for ${allowedFor}` : "";
      const gives = net.node.has(id) ? "Gives" : "Carries";
      const far = JSON.stringify([gives, `${bound} ${percent.whole}\u00a0%`.trim(), time]);
      together.set(far, [...(together.get(far) || []), id]);
    }
    for (const [far, ids] of together) {
      const [gives, percent, time] = JSON.parse(far);
      more.push(`${gives} ${percent} of rating${time}: ${named(ids)}.`);
      const helping = gives === "Gives" ? inReserve(ids) : [];
      if (helping.length) {
        more.push(`What ${verb(ids, "it", "they")} cannot give, ${joined(helping.map((s) => names.get(s)))} may: that is in no figure.`);
      }
    }
    const other = (answer, than = shown) => {
      const lostToo = same(answer.lost, than.lost);
      const count = answer.lost.length;
      const lost = lostToo ? [] : [
        count === than.lost.length ? "other items" : counted(count || "no", "item")];
      const ends = (f, one) => (one.functions[f.id] !== "lost" ? ""
        : normal.functions[f.id] !== "lost" && turnedOff(f, one) ? "off" : "lost");
      const ending = (how, before) => {
        const found = net.data.functions.filter((f) => ends(f, answer) === how && before.includes(ends(f, than)));
        return found.length
          ? [`${counted(found.length, "more function")} (${few(found.map((f) => f.name), "functions")})`] : [];
      };
      lost.push(...ending("lost", ["", "off"]));
      const clauses = lost.length ? [`you lose ${lost.join(" and ")}`] : [];
      clauses.push(...ending("off", [""]).map((words) => `what is turned off ends ${words}`));
      for (const [field, words] of MORE) {
        const ids = answer[field].filter((id) => !than[field].includes(id));
        if (ids.length) clauses.push(`${named(ids)} ${words}`);
      }
      clauses.push(...onlyThen(net, normal, than, answer).map(([words, ids]) => `${named(ids)} ${words}`));
      for (const [field, words] of lostToo ? LEFT : []) {
        const left = answer[field];
        if (!same(left, than[field]) && (left.length || same(answer.shed, than.shed))) clauses.push(`${counted(left.length || "no", "item")} ${verb(left, "is", "are")} left ${words}`);
      }
      return joined(clauses) || "not all of this holds";
    };
    if (overload) more.push(`If what ${must.length ? "is overloaded opens" : "was overloaded at once has opened"}, ${other(overload)}.`);
    const opensFirst = must.filter((id) => id in (overload || shown).opened);
    const rest = must.filter((id) => !opensFirst.includes(id));
    if (opensFirst.length && rest.length) {
      more.push(`That is if ${named(opensFirst)} ${verb(opensFirst, "opens", "open")} first; if ${few(rest.map((id) => names.get(id)), "devices")} ${verb(rest, "does", "do")}, it may be otherwise.`);
    }
    const do_ = isDip ? "ride through the fault" : "drop out while the fault lasts";
    if (otherContactors) more.push(`If contactors ${do_}, ${other(otherContactors)}.`);
    if (opensToo) {
      more.push(otherContactors ? `If what is overloaded then has opened too, ${other(opensToo, otherContactors)}.`
        : `If contactors ${do_} and what is overloaded then has opened, ${other(opensToo)}.`);
    }
    if (otherContactors || opensToo) more.push(whichFits.sentence(net, names, expected));
    let first;
    if (shown.lost.length) {
      const on = shown.comes_on.length ? `, ${shown.comes_on.length} come${shown.comes_on.length === 1 ? "s" : ""} on` : "";
      const off = shown.shed.length ? `, ${shown.shed.length} turned off` : "";
      first = `${shown.lost.length} lost${off}${on}`;
    } else if (shown.comes_on.length) first = `${counted(shown.comes_on.length, "item")} come${shown.comes_on.length === 1 ? "s" : ""} on`;
    else if (shown.shed.length) first = `${counted(shown.shed.length, "item")} turned off, none lost`;
    else if (shown.not_known.length) first = `Not known: ${counted(shown.not_known.length, "item")}`;
    else {
      const isSource = (id) => net.sources.some((s) => s.id === id);
      const [what, ids] = [["Live now", live.filter((id) => !isSource(id))], ["Terminals live now", live.filter(isSource)],
        ["Driven", [...shown.driven, ...off]]].find(([, found]) => found.length) || [];
      first = what ? `${what}: ${named(ids)}` : more.length || functionsLost.length ? "No item is lost" : "Nothing is lost";
    }
    return { first, more, working, functionsLost, newlyOnBattery };
  }

  return { NEGLIGIBLE_AMPS, solved, sentences, turnedOff, acted };
})());
