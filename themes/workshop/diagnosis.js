/* What may have failed: which failures explain all that is seen, and which check distinguishes them.

The same search as the package's `troubleshoot.py`, held equal to it by tests: all failures are
tried, alone, in twos and in threes; what explains everything seen and holds no smaller explanation
is a candidate. The work is done in slices, so that a page stays alive: `begin(...)` gives a search,
`search.work(milliseconds)` goes on with it, until `search.done`. */
"use strict";

const diagnosis = (() => {
  const LARGEST_SET = 3;
  const MOST_SETS = 1000000; // sets of one size that are tried
  const MOST_JUDGED = 400; // candidates among which the next check is chosen
  const MOST_NEAR = 12; // that are more than one failure
  const MOST_ADDED = 5; // meters of sources of which any are added up; of more, each two, and all
  const SMALLEST_SHARE = 2; // a breaker that feeds less, % or A, is no cause of a figure read
  const TOLERANCE_VOLTS = 1.5;
  const TOLERANCE_SHARE = 0.05;
  const SCALE_READ = 5;
  const WORD = 32;
  const NAMED = 1; // the group of the named failures of more than the fewest
  const ACTS = new Set(["try it", "source off"]); // do something to the aircraft
  const LAST = "on the ground"; // opening a panel that nothing says can be reached here
  const EFFORT = {
    "in view": 1, "try it": 1.2, "breaker panel": 1.2, "source off": 1.4, "open a panel": 2, [LAST]: 2,
  };
  const LOAD_METERS = new Set(["loadmeter", "ammeter"]);
  const { ratio } = figures;
  const LEAST_LOAD = ratio(1, 2); // from here on it is seen whether there is load

  // ---- Which failures are tried

  const watchedIn = (net) => {
    const watched = new Set();
    const lists = [...net.terms.filter(Boolean), ...net.indications.map((i) => i.terms)];
    for (const terms of lists) for (const t of terms) for (const d of [...t.closed, ...t.open]) watched.add(d);
    return watched;
  };

  /* The devices that can change what the buses do. */
  function inNet(net) {
    const found = watchedIn(net);
    for (const branch of net.branches) for (const d of branch.through) found.add(d);
    return found;
  }

  /* How many failures these causes are: one may explain what is seen in several answers. */
  const failuresOf = (causes) => new Set(causes.map(({ failed, against }) => (against.length ? {} : setKey(failed)))).size;

  // What is left unexplained counts as one failure more.
  const costOf = ({ failed, against }) => failed.length + against.length;

  const keyOf = (fault) => `${fault[0]}\n${fault[1]}`;
  const setKey = (failed) => failed.map(keyOf).sort().join();

  /* The failures that can change what the buses do: by one of each group, the whole group. Of
  devices in one branch, and in nothing else, any one open has the effect of any other. */
  function groupedByEffect(net) {
    const watched = watchedIn(net);
    const active = inNet(net);
    const uses = new Map();
    net.branches.forEach((branch, i) => {
      for (const d of branch.through) uses.set(d, [...(uses.get(d) || []), i]);
    });
    const supplies = [...net.supplies, ...net.indications.map((i) => i.connections)];
    for (const list of supplies) {
      for (const { through } of list) for (const d of through) if (uses.has(d)) uses.get(d).push(-1);
    }
    const groups = new Map();
    for (const fault of net.faults) {
      const [id, mode] = fault;
      const d = net.device.get(id);
      const usedIn = uses.get(d) || [];
      const name = mode === "open" && usedIn.length === 1 && !watched.has(d) ? `in ${usedIn[0]}`
        : net.node.has(id) || active.has(d) ? `own ${keyOf(fault)}` : null;
      if (name) groups.set(name, [...(groups.get(name) || []), fault]);
    }
    return [...groups.values()];
  }

  /* An item and all that it requires. */
  function closureOf(net, item) {
    const all = new Set([item]);
    for (const e of all) for (const other of net.requires[e].flat()) all.add(other);
    return [...all];
  }

  /* The breakers that can change these observations and nothing else of the net. */
  function breakersFeeding(net, observations) {
    const active = inNet(net);
    const found = new Set();
    const add = (list) => {
      for (const { through } of list) for (const d of through) if (!active.has(d)) found.add(net.devices[d].id);
    };
    for (const { subject, seen } of observations) {
      const number = net.indications.findIndex((i) => i.id === subject);
      if (net.item.has(subject)) for (const e of closureOf(net, net.item.get(subject))) add(net.supplies[e]);
      if (number >= 0) add(net.indications[number].connections);
      if (number >= 0 && readsLoad(net.indications[number], seen)) {
        const share = figures.scaleOf(net, net.indications[number]).share;
        const least = seen.kind === "figure" && seen.number ? ratio(SMALLEST_SHARE, 1) : LEAST_LOAD;
        net.equipment.forEach((item, e) => {
          const drawn = net.conditions.some((c) => {
            const { figure } = figures.loadsIn(net, c.loads || null)[e];
            return figure && figure.times(share).compare(least) >= 0;
          });
          if (drawn) add(net.supplies[e]);
        });
      }
    }
    return found;
  }

  function ownBreakers(net) {
    const active = inNet(net);
    const found = new Set();
    for (const list of [...net.supplies, ...net.indications.map((i) => i.connections)]) {
      for (const { through } of list) for (const d of through) if (!active.has(d)) found.add(net.devices[d].id);
    }
    return found;
  }

  const acts = (net, [id, mode]) => mode !== "stuck-closed" || Boolean(net.terms[net.device.get(id)]);

  // ---- In which scenarios of a word everything seen would be seen

  const readsLoad = (indication, seen) => LOAD_METERS.has(indication.kind) && (seen.kind || "blank") !== "blank";

  /* By observation a function of an outcome and a mask: the scenarios of the mask in which it would
  be made; the cheap ones first. */
  function testsOf(net, observations, tolerance) {
    const cost = ({ subject }) => {
      const indication = net.indications.find((i) => i.id === subject);
      if (!indication) return net.node.has(subject) ? 0 : 1;
      return LOAD_METERS.has(indication.kind) ? 4 : indication.kind === "voltmeter" ? 3 : 2;
    };
    const tests = observations.map((one) => ({ ...one, cost: cost(one) }))
      .sort((a, b) => a.cost - b.cost)
      .map(({ subject, seen }) => testOf(net, subject, seen, tolerance));
    return loadsRead(net, observations).length > 1 ? [...tests, testOfAll(net, observations)] : tests;
  }

  const loadsRead = (net, observations) => observations.filter(({ subject, seen }) => {
    const indication = net.indications.find((i) => i.id === subject);
    return indication && readsLoad(indication, seen);
  });

  /* Whether what meters of several sources read adds up: each may be within what it may show, and all
  of them together no more, or less, than is drawn. */
  function testOfAll(net, observations) {
    const read = loadsRead(net, observations).flatMap(({ subject, seen }) =>
      ofSource(net, net.indications.find((i) => i.id === subject), seen));
    const several = subsets(read.length).map((set) => set.map((i) => read[i]))
      .filter((set) => new Set(set.map(({ meter }) => meter.owner)).size === set.length);
    const test = ({ after }, mask) => {
      let found = 0;
      for (let k = 0; k < WORD; k++) {
        if ((mask >>> k) & 1 && several.every((set) => addsUp(after, k, set))) found |= 1 << k;
      }
      return found;
    };
    return Object.assign(test, { mayHold: (outcome, mask) => mask });
  }

  function subsets(count) {
    const found = [];
    for (let set = 1; set < 1 << count; set++) {
      const members = [...Array(count).keys()].filter((i) => (set >>> i) & 1);
      const asked = count <= MOST_ADDED || [2, count].includes(members.length);
      if (asked && members.length > 1) found.push(members);
    }
    return found;
  }

  /* What a meter reads of the amps that one source gives, in either direction: [{meter, spans}]. */
  function ofSource(net, indication, seen) {
    const [owner, along] = possibleAmps.nextTo(net, indication.at);
    if (owner === null || !["figure", "no load"].includes(seen.kind)) return [];
    const meter = { ...figures.meterAt(net, indication.at), owner, against: !along };
    const { share } = figures.scaleOf(net, indication);
    const figure = figures.exact(Math.abs(seen.number || 0));
    const [low, high] = [-SCALE_READ, SCALE_READ].map((by) => figure.plus(ratio(by, 1)).by(share));
    const backwards = [high.negative(), low.negative()];
    const forwards = figures.directionsAt(net, indication)[0] === seen.direction;
    if (seen.direction) return [{ meter, spans: [forwards === along ? [low, high] : backwards] }];
    const battery = net.sources[owner].kind === "battery";
    return [{ meter, spans: battery ? [[low, high], backwards] : [[low, high]] }];
  }

  function addsUp(after, k, set) {
    const flow = figures.flowOfAll(after, k, set.map(({ meter }) => meter));
    const total = (ends, which) => ends.map((end) => end[which]).reduce((a, b) => a.plus(b));
    return !flow || product(set.map(({ spans }) => spans)).some((ends) =>
      total(ends, 0).compare(flow.most) <= 0 && flow.least.compare(total(ends, 1)) <= 0);
  }

  function testOf(net, subject, seen, tolerance) {
    // A bus, a source or a device may have the id of an indication.
    if (typeof seen === "string" && net.item.has(subject)) {
      const e = net.item.get(subject);
      return ({ after, set }) => (seen === "works" ? after.itemWorks(e)
        : (set.all & ~after.itemWorks(e)) | after.itemNotKnown(e));
    }
    if (typeof seen === "string" && net.node.has(subject)) {
      const n = net.node.get(subject);
      return ({ after, set }) => (seen === "works" ? after.steady.live[n]
        : set.all & ~after.steady.live[n]);
    }
    const number = net.indications.findIndex((i) => i.id === subject);
    if (number < 0) throw new Error(`nothing to be seen is named '${subject}'`);
    const indication = net.indications[number];
    const power = (after) => engine.indicationPower(after, number);
    if (indication.kind === "lamp") {
      // A lamp without power is as dark as one that is unlit.
      return ({ after, set }) => (seen.kind === "lit" ? power(after) & after.lit(indication.terms, 1)
        : set.all & ~(power(after) & after.lit(indication.terms, 0)));
    }
    if (indication.kind === "flag") {
      // Without power a flag may be seen either way.
      return ({ after, set }) => {
        const blank = set.all & ~power(after);
        if (seen.kind === "blank") return blank;
        return blank | (seen.kind === "lit" ? after.lit(indication.terms, 1)
          : set.all & ~after.lit(indication.terms, 0));
      };
    }
    if (seen.kind === "blank") return ({ after, set }) => set.all & ~power(after);
    const each = indication.kind === "voltmeter"
      ? (after, k) => voltsAgree(figures.voltsShown(after, k, net.node.get(indication.at)), seen, tolerance)
      : (after, k) => loadAgrees(net, indication, seen, figures.flowAt(after, k, indication));
    const mayHold = ({ after }, mask) => {
      const here = mask & power(after);
      return LOAD_METERS.has(indication.kind)
        ? here & possibleAmps.mayShow(after, indication, seen, SCALE_READ) : here;
    };
    const test = (outcome, mask) => {
      let found = 0;
      let here = mask & power(outcome.after);
      // What bounds exclude need not be worked out; for one scenario they cost as much.
      if (here & (here - 1)) here &= mayHold(outcome, here);
      for (let k = 0; k < WORD; k++) if ((here >>> k) & 1 && each(outcome.after, k)) found |= 1 << k;
      return found;
    };
    // A load costs much to work out: where it may hold is known before.
    return LOAD_METERS.has(indication.kind) ? Object.assign(test, { mayHold }) : test;
  }

  function voltsAgree(shown, seen, tolerance) {
    if (seen.kind !== "figure" || seen.unit !== "V") return false;
    const [least, most] = shown.band || [shown.number || 0, shown.number || 0];
    return least - Math.max(tolerance, TOLERANCE_SHARE * least) <= seen.number
      && seen.number <= most + Math.max(tolerance, TOLERANCE_SHARE * most);
  }

  /* Whether a loadmeter or ammeter that has power might be read so. */
  function loadAgrees(net, indication, seen, { flow, flowing, forwards }) {
    const share = figures.scaleOf(net, indication).share;
    const reach = (sign) => {
      const [one, other] = [flow.least, flow.most].map((end) => end.times(share));
      const [low, high] = sign > 0 ? [one, other] : [other.negative(), one.negative()];
      return [low.n < 0n ? ratio(0, 1) : low, high];
    };
    if (seen.kind === "no load" || (seen.kind === "figure" && seen.unit !== "V" && !seen.number)) {
      if (!flow) return !flowing;
      return ![1, -1].some((sign) => reach(sign)[0].whole > 0);
    }
    if (!flow) return true;
    const shows = (sign) => reach(sign)[1].n > 0n;
    if (seen.kind === "load") return shows(1) || shows(-1);
    const figure = figures.exact(Math.abs(seen.number));
    const within = ratio(SCALE_READ, 1);
    const signs = seen.direction ? [forwards === seen.direction ? 1 : -1] : [1, -1];
    return signs.some((sign) => {
      const [least, most] = reach(sign);
      return shows(sign) && least.minus(within).compare(figure) <= 0
        && figure.compare(most.plus(within)) <= 0;
    });
  }

  // ---- The search

  function begin(net, asked) {
    const {
      condition, observations, tolerance = TOLERANCE_VOLTS, order = LARGEST_SET, failures = [],
    } = asked;
    const place = new Map(net.faults.map((fault, i) => [keyOf(fault), i]));
    const combined = new Set(net.combinedFaults.map(keyOf));
    const feeding = breakersFeeding(net, observations);
    const own = net.faults.filter((f) => feeding.has(f[0]) && acts(net, f));
    const groups = new Map(groupedByEffect(net).map((members) => [keyOf(members[0]), members]));
    for (const fault of own) groups.set(keyOf(fault), [fault]);
    const firsts = [...groups.values()].map((members) => members[0]);
    const tried = firsts.filter((f) => combined.has(keyOf(f)));
    const alone = firsts.filter((f) => !combined.has(keyOf(f)));
    const search = {
      done: false, order: 0, largest: largestSet(tried.length, order), fits: false,
      candidates: [], moreNear: false, work, groups: inGroups,
      likely: () => likely(), checks: () => checksFound, nearMisses: () => near,
    };
    const namedSets = new Set(failures.map((f) => setKey(f.failed)));
    let checksFound = [];
    let near = [];
    const found = []; // sets of group representatives, as sorted lists of keys
    const movedTo = new Map(); // by such a set: the airframe at other volts where it explains it
    const phases = run();

    /* Goes on for about this long. */
    function work(milliseconds = 30) {
      const end = now() + milliseconds;
      while (!search.done) {
        if (phases.next().done) search.done = true;
        if (now() >= end) return;
      }
    }

    /* One answer of some sets: `reading` is as on the board. Of answer 3 one set. */
    function solved(sets, reading = "", of = net) {
      const outcome = engine.solve(of, sets.map((failed) => ({ condition, failed })), { dip: reading === "dip" });
      return reading === "overload" ? figures.openByOverload(outcome)[0] : outcome;
    }

    const tests = new Map();
    function testsAt(of) {
      if (!tests.has(of)) tests.set(of, testsOf(of, observations, tolerance));
      return tests.get(of);
    }

    function explaining(outcome, of) {
      let mask = outcome.set.all;
      for (const test of testsAt(of)) {
        mask &= test(outcome, mask);
        if (!mask) return 0;
      }
      return mask;
    }

    /* Words of these sets, each judged; yields between words. */
    function* explainers(sets, reading, take, of = net) {
      let word = [];
      for (const failed of sets) {
        word.push(failed);
        if (word.length === wordOf(reading)) {
          judge(word, reading, take, of);
          word = [];
          yield;
        }
      }
      if (word.length) judge(word, reading, take, of);
      yield;
    }

    const wordOf = (reading) => (reading === "overload" ? 1 : WORD);

    function judge(word, reading, take, of) {
      const mask = explaining(reading === "overload" ? solved(word, reading)
        : engine.states(of, word.map((failed) => ({ condition, failed })), { dip: reading === "dip" }), of);
      for (let k = 0; mask >>> k && k < WORD; k++) if ((mask >>> k) & 1) take(word[k]);
    }

    const isHealthy = (of) => {
      const outcome = solved([[]], "", of);
      return testsAt(of).every((test) => test(outcome, 1) & 1);
    };

    const elsewhere = engine.once(() => withFailures(net, condition, observations));

    function* everywhere() {
      yield net;
      yield* anywhereInRange(net, condition, observations);
      for (const { of } of elsewhere()) yield of;
    }

    /* The sets that explain it at the volts of the airframe, then the others that do elsewhere in the
    ranges of its sources: single failures always, pairs where nothing else explains it. */
    function* explainedBy(sets) {
      const explain = new Set();
      yield* explainers(sets, "", (failed) => explain.add(failed));
      if (sets[0]?.length > 1 && (explain.size || found.length || search.fits)) return [...explain];
      for (const { of, pairs } of elsewhere()) {
        if (sets[0]?.length > 1 && !pairs) continue;
        // Where these volts alone explain it, a failure at the same volts explains nothing.
        if (search.fits && search.healthyAt !== net && isHealthy(of)) continue;
        yield* explainers(sets.filter((failed) => !explain.has(failed)), "", (failed) => {
          explain.add(failed);
          movedTo.set(failed, of);
        }, of);
      }
      return [...explain];
    }

    function* run() {
      for (const of of everywhere()) {
        if (isHealthy(of)) {
          search.healthyAt = of;
          break;
        }
        yield;
      }
      search.fits = Boolean(search.healthyAt);
      const singles = yield* explainedBy([...alone, ...tried].map((f) => [f]));
      found.push(...singles);
      yield* publish(1);
      yield* judgeEarly(1);
      if (search.largest > 1) {
        const single = new Set(singles.map(([f]) => keyOf(f)));
        const left = tried.filter((f) => !single.has(keyOf(f)));
        const pairs = yield* explainedBy([...pairsOf(left)]);
        found.push(...pairs);
        yield* publish(2);
        // Singles and pairs are all that can come near: said before the long search for triples.
        yield* findNear();
        yield* judgeEarly(2);
        if (search.largest > 2) {
          const taken = new Set(pairs.map(([a, b]) => `${keyOf(a)} ${keyOf(b)}`));
          yield* explainers(triplesOf(left, taken), "", (failed) => found.push(failed));
          yield* publish(3);
        }
      } else yield* findNear();
      const some = likely();
      if (!isJudged) yield* findChecks(some);
      // Where nothing distinguishes these, what does so among all.
      if (!checksFound.length && some.length < comparable().length) yield* findChecks(comparable());
    }

    let isJudged = false;

    /* What to check next is known as soon as no larger set can be among those it distinguishes. */
    function* judgeEarly(size) {
      const some = likely();
      if (isJudged || failuresOf(some) + (search.fits ? 1 : 0) < 2) return;
      // Of a larger set, unless it has a name, more may be found.
      if (some.some((one) => costOf(one) > size && groupOf(one) !== NAMED)) return;
      isJudged = true;
      yield* findChecks(some);
    }

    /* The candidates so far, every set by itself, with those of the other answers. */
    function* publish(size) {
      const sets = [];
      const at = new Map();
      const spread = (group, i, chosen) => {
        if (i === group.length) {
          const failed = [...chosen].sort((a, b) => place.get(keyOf(a)) - place.get(keyOf(b)));
          sets.push(failed);
          at.set(failed, movedTo.get(group));
          return;
        }
        for (const member of groups.get(keyOf(group[i]))) spread(group, i + 1, [...chosen, member]);
      };
      for (const failed of found) spread(failed, 0, []);
      if (search.fits) {
        // A breaker that feeds nothing observed may have opened as well: it changes nothing seen.
        const unseen = ownBreakers(net);
        const more = net.faults.filter((f) => unseen.has(f[0]) && !feeding.has(f[0]) && acts(net, f));
        yield* explainers(more.map((f) => [f]), "", (failed) => sets.push(failed));
      }
      const isMoved = (failed) => (at.get(failed) ? 1 : 0);
      const order_ = (a, b) => a.length - b.length || isMoved(a) - isMoved(b) || a.reduce((sum, f, i) =>
        sum || place.get(keyOf(f)) - place.get(keyOf(b[i])), 0);
      sets.sort(order_);
      const holds = (failed, part) => part.size < failed.length
        && [...part].every((key) => failed.some((f) => keyOf(f) === key));
      let all = sets.map((failed) => candidate(failed, "", at.get(failed)));
      for (const reading of ["", "dip", "overload"]) {
        const more = [];
        yield* inAnotherAnswer(all.map(({ failed }) => failed), reading, more);
        const smaller = more.map((failed) => new Set(failed.map(keyOf)));
        all = all.filter(({ failed }) => !smaller.some((part) => holds(failed, part)
          && (part.size < 2 || !namedSets.has(setKey(failed)))));
        all.push(...more.map((failed) => candidate(failed, reading)));
      }
      search.candidates = all;
      // Beside what explains everything only what nearly does is near.
      if (all.length) near = near.filter(({ against }) => against.length === 1);
      search.moreNear = search.moreNear && near.length > 0;
      recount();
      const isOf = new Map(all.map((one) => [one, groupOf(one)]));
      all.sort((a, b) => isOf.get(a) - isOf.get(b) || a.failed.length - b.failed.length
        || (a.of !== net) - (b.of !== net));
      search.order = size;
    }

    function candidate(failed, reading, of = net, against = []) {
      const outcome = engine.once(() => solved([failed], reading, of));
      const answer = engine.once(() => engine.answer(outcome()));
      const readings = engine.once(() => figures.readings(outcome()));
      return {
        failed, reading, of, against, outcome, readings, get answer() { return answer(); },
        volts: movedVolts(net, of).filter(([id]) => failed.every(([other]) => other !== id)),
      };
    }

    /* The single and named failures that may do something else in another answer: those with a
    short, if contactors drop out of which nothing is said; those that overload something, if it
    opens. In answer 1 the named ones, with all that fails in each. */
    function setsOf(reading) {
      const sets = new Map();
      const [certain, every] = net.droppingOut;
      if (reading === "dip" && certain.length === every.length) return [];
      const asked = reading === "overload" ? net.data.opening?.[condition] || []
        : [...net.faults.map((f) => [f]), ...failures.map((f) => f.failed)].filter((failed) => (reading
          ? failed.some(([id, mode]) => net.node.has(id) && mode === "shorted") : failed.length > 1));
      for (const failed of asked) sets.set(failed.map(keyOf).join(" "), failed);
      return [...sets.values()];
    }

    /* Into `more`, those of them that explain it there, of which no candidate says the same. */
    function* inAnotherAnswer(sets, reading, more) {
      const explain = [];
      yield* explainers(setsOf(reading), reading, (failed) => explain.push(failed));
      const known = new Set(sets.map(setKey));
      const alone = new Set([...sets, ...explain].filter(({ length }) => length === 1).map(([one]) => keyOf(one)));
      for (const failed of explain) {
        if (failed.length > 1 && failed.some((one) => alone.has(keyOf(one)))) continue;
        const isCandidate = known.has(setKey(failed));
        if (!isCandidate || answersDiffer(candidate(failed, reading), candidate(failed, ""))) more.push(failed);
        yield;
      }
    }

    const answersDiffer = (one, other) => headline.differs(one.answer, other.answer)
      || JSON.stringify(one.readings()) !== JSON.stringify(other.readings());

    // ---- What to check next

    let fewest = 0;
    const recount = () => {
      fewest = [...search.candidates, ...near].reduce((least, one) => Math.min(least, costOf(one)), Infinity);
    };

    /* 0 for one of the fewest failures, then the named ones, then by their number. */
    function groupOf(one) {
      const cost = costOf(one);
      if (cost === fewest) return 0;
      return !one.against.length && namedSets.has(setKey(one.failed)) ? NAMED : cost;
    }

    /* The causes by what is listed together: [[whether they are named, causes, what is against them]]. */
    function inGroups() {
      const groups = new Map();
      for (const one of [...search.candidates, ...near]) {
        const group = groupOf(one);
        const key = `${group} ${one.against.map(({ subject }) => subject).join()}`;
        if (!groups.has(key)) groups.set(key, [group, [], one.against]);
        groups.get(key)[1].push(one);
      }
      return [...groups.values()].sort(([a, , against], [b, , other]) => a - b || against.length - other.length)
        .map(([group, ...rest]) => [group === NAMED, ...rest]);
    }

    /* What checks may distinguish: of near misses those that leave one observation unexplained, if
    these are all. */
    const comparable = () => [...search.candidates.slice(0, MOST_JUDGED),
      ...near.filter(({ against }) => against.length === 1 && !search.moreNear)];

    /* The causes that the next check is to distinguish: those of the fewest failures and the named
    ones, and of the next number where that is one alone. */
    function likely() {
      const all = comparable();
      const isOf = new Map(all.map((one) => [one, groupOf(one) === NAMED ? 0 : costOf(one)]));
      let some = [];
      for (const cost of [...new Set([0, ...isOf.values()])].sort((a, b) => a - b)) {
        some = all.filter((one) => isOf.get(one) <= cost);
        if (cost && failuresOf(some) + (search.fits ? 1 : 0) > 1) break;
      }
      return some;
    }

    function* findChecks(judged) {
      const possible = [...judged, ...(search.fits ? [candidate([], "", search.healthyAt)] : [])];
      if (possible.length < 2) return;
      const seen = new Set(observations.map((one) => one.subject));
      const list = [];
      // A candidate may explain what is seen at the volts of another too: an answer leaves all that
      // give it at the volts of any. So what only shows the volts of a source distinguishes nothing.
      const volts = new Set(possible.map(({ of }) => of));
      const everywhere = possible.map((one) => [one, ...(volts.size > 1
        ? [...volts].map((of) => candidate(one.failed, one.reading, of)) : [])]);
      // An item that may itself have failed says nothing of what requires it.
      const unexplained = new Set(judged.flatMap(({ against }) => against.map(({ subject }) => net.item.get(subject))));
      const shown = [];
      for (const each of everywhere) {
        shown.push([]);
        for (const one of each) {
          shown[shown.length - 1].push({ answer: one.answer, readings: one.readings(), outcome: one.outcome() });
          yield;
        }
      }
      const mapped = (all, change) => all.map((each) => each.map(change));
      // `meters` is what an indication may show, before it is read off: a voltmeter's error leaves more.
      const add = (effort, subject, answers, meters = [], sourceOff = null) => {
        const keyOf = (answer) => (typeof answer === "string" ? answer : JSON.stringify(answer));
        const keys = mapped(answers, keyOf);
        const parts = new Map(answers.map(([answer], i) => [keys[i][0], [answer]]));
        if (parts.size < 2) return;
        for (const [key, part] of parts) {
          const [answer] = part;
          const leaves = (i) => keys[i].includes(key) || (answer.unit === "V"
            && meters[i].some((meter) => meter.unit === "V" && voltsAgree(meter, answer, tolerance)));
          part.push([...keys.keys()].filter(leaves));
        }
        if ([...parts.values()].every(([, left]) => left.length === answers.length)) return;
        const leaves = keys.reduce((all, [own]) => all + parts.get(own)[1].length, 0) / answers.length;
        const order_ = [...parts.values()].sort(([a], [b]) => compare(written(a), written(b)));
        list.push({
          effort, subject, sourceOff, leaves, left: String(order_.map(([, left]) => left.join(" ")).sort()),
          answers: order_.map(([answer, left]) => [answer, left.map((i) => possible[i])]),
        });
      };
      const read = (effort, readings, sourceOff) => {
        for (const { id, kind } of net.indications) {
          const meters = mapped(readings, (one) => one[id]);
          const off = readOff(meters.flat(), kind);
          if (sourceOff || !seen.has(id)) {
            add(effort, id, meters.map((each) => off.splice(0, each.length)), meters, sourceOff);
          }
        }
      };
      read("in view", mapped(shown, (one) => one.readings));
      const dead = mapped(shown, ({ answer }) => new Set([...answer.lost, ...answer.not_powered]));
      const unknown = new Set(shown.flat().flatMap(({ answer }) => answer.not_known));
      const sources = toTakeOff(net, condition);
      const onGround = sources.length > 0;
      for (const { id, notTried } of net.equipment) {
        if (seen.has(id) || unknown.has(id) || notTried > onGround) continue;
        if (closureOf(net, net.item.get(id)).some((e) => unexplained.has(e))) continue;
        add("try it", id, mapped(dead, (d) => (d.has(id) ? "dead" : "works")));
      }
      yield;
      for (const source of sources) {
        const then = [];
        for (const each of everywhere) {
          then.push([]);
          for (const { reading, outcome } of each) {
            const off = engine.offLine(outcome(), source);
            then[then.length - 1].push(
              figures.readings(reading === "overload" ? figures.openByOverload(off)[0] : off));
            yield;
          }
        }
        read("source off", then, source);
      }
      net.devices.forEach(({ id, kind, noPanel, groundOnly }, d) => {
        if (!engine.MODES[kind].includes("open")) return;
        const onPanel = kind === "breaker" && !noPanel && (onGround || !groundOnly);
        const [closed, open] = onPanel ? ["in", "popped"] : ["closed", "open"];
        // Where a panel is open the power is off, and every sound contactor open.
        const byCoil = ["contactor", "relay"].includes(kind) && net.terms[d];
        const sprung = byCoil && net.terms[d].some((t) => t.dead.length + t.below.length && !(t.live.length + t.above.length));
        add(onPanel ? "breaker panel" : onGround ? "open a panel" : LAST, id, mapped(shown, ({ answer, outcome }) =>
          ((byCoil ? answer.failed.some((f) => f.id === id && f.mode === (sprung ? "open" : "stuck-closed")) !== sprung
            : outcome.after.steady.conducts[d] & 1) ? closed : open)));
      });
      // To read harms nothing: nobody is asked to do what says no more than a reading.
      const read_ = new Set(list.filter(({ effort }) => effort === "in view").map(({ left }) => left));
      const last = ({ effort }) => (effort === LAST ? 1 : 0);
      const weight = ({ leaves, effort }) => leaves * EFFORT[effort];
      checksFound = list.filter((one) => !ACTS.has(one.effort) || !read_.has(one.left))
        .map((one, i) => [one, i]).sort(([a, i], [b, j]) =>
        last(a) - last(b) || weight(a) - weight(b) || EFFORT[a.effort] - EFFORT[b.effort] || i - j).map(([one]) => one);
    }

    // ---- What comes near, where nothing explains everything

    /* The failures with the fewest observations against them, where nothing alone explains everything:
    one at a time, and two where none is as near. */
    function* findNear() {
      const smallest = search.candidates[0]?.failed.length;
      if (search.fits || smallest === 1) return;
      const nothing = solved([[]]);
      const healthy = testsAt(net).map((test) => test(nothing, 1) & 1);
      const fitsHealthy = healthy.reduce((sum, fits) => sum + fits, 0);
      // First how many tests each may agree with: amps are worked out only of what is near by that.
      function* rowsOf(sets, reading) {
        const rows = [];
        let word = [];
        const count = () => {
          const outcome = solved(word, reading);
          const may = testsAt(net).map((test) => (test.mayHold || test)(outcome, outcome.set.all));
          word.forEach((failed, k) => {
            const most = may.reduce((sum, mask) => sum + ((mask >>> k) & 1), 0);
            if (most) rows.push({ failed, most, fits: null });
          });
          word = [];
        };
        for (const failed of sets) {
          word.push(failed);
          if (word.length === wordOf(reading)) { count(); yield; }
        }
        if (word.length) count();
        return [rows, reading];
      }
      const measure = (some, reading) => {
        if (!some.length) return;
        const outcome = solved(some.map(({ failed }) => failed), reading);
        const agreeing = testsAt(net).map((test) => test(outcome, outcome.set.all));
        some.forEach((row, k) => {
          // What has the same against it as nothing failed explains nothing of what is seen.
          const asHealthy = agreeing.every((mask, i) => ((mask >>> k) & 1) === healthy[i]);
          row.fits = asHealthy ? 0 : agreeing.reduce((sum, mask) => sum + ((mask >>> k) & 1), 0);
        });
      };
      const ordered = observations.map((one) => testOf(net, one.subject, one.seen, tolerance));
      const loads = loadsRead(net, observations);
      // What agrees with every meter may still not add up.
      const addUp = loads.length > 1 ? testOfAll(net, observations) : () => 1;
      const tried = testsAt(net).length;
      const missed = (outcome) => {
        const fits = addUp(outcome, 1) & 1;
        return observations.filter((one, i) => !(ordered[i](outcome, 1) & 1)
          || (!fits && loads.includes(one)));
      };
      const others = [];
      for (const reading of ["dip", "overload"]) others.push(yield* rowsOf(setsOf(reading), reading));
      const rows = [null, yield* rowsOf(net.faults.map((fault) => [fault]), ""), null];
      const levels = [[tried - 1, 1]];
      // What contradicts everything seen is no near miss.
      for (let n = tried - 1; !smallest && n > tried - observations.length; n--) levels.push([n, tried]);
      for (const [number, mostAgainst] of levels) {
        const isNear = (against) => against.length && against.length <= mostAgainst;
        const alone = fitsHealthy >= number && isNear(missed(nothing)) ? [candidate([], "", net, missed(nothing))] : [];
        for (const size of smallest === 2 ? [1] : [1, 2]) {
          rows[size] = rows[size] || (yield* rowsOf(pairsOf(net.combinedFaults), ""));
          const named = new Map();
          for (const [every, reading] of [rows[size], ...others]) {
            const possible = every.filter(({ failed, most }) => most >= number && (size > 1 || failed.length === 1));
            let left = size > 1 ? MOST_NEAR + 1 : Infinity;
            for (let i = 0; i < possible.length && left > 0; i += wordOf(reading)) {
              const some = possible.slice(i, i + wordOf(reading));
              measure(some.filter(({ fits }) => fits === null), reading);
              for (const { failed } of some.filter(({ fits }) => fits >= number)) {
                const against = missed(solved([failed], reading));
                if (!isNear(against) || left < 1) continue;
                left -= 1;
                const key = `${failed.map(keyOf).join(" ")}|${against.map((one) => one.subject).join()}`;
                if (!named.has(key)) named.set(key, candidate(failed, reading, net, against));
              }
              yield;
            }
          }
          if (named.size || alone.length) {
            const most = size > 1 ? MOST_NEAR : named.size;
            search.moreNear = named.size > most;
            near = [...alone, ...[...named.values()].slice(0, most)];
            recount();
            return;
          }
        }
      }
    }

    return search;
  }

  const now = () => (typeof performance === "undefined" ? Date.now() : performance.now());

  function largestSet(count, order) {
    const sets = (n) => (n === 2 ? (count * (count - 1)) / 2
      : n === 3 ? (count * (count - 1) * (count - 2)) / 6 : count);
    while (order > 1 && sets(order) > MOST_SETS) order -= 1;
    return order;
  }

  function* pairsOf(faults) {
    for (let i = 0; i < faults.length; i++) {
      for (let j = i + 1; j < faults.length; j++) {
        if (faults[i][0] !== faults[j][0]) yield [faults[i], faults[j]];
      }
    }
  }

  function* triplesOf(faults, taken) {
    const keys = faults.map(keyOf);
    const pair = (i, j) => faults[i][0] === faults[j][0] || taken.has(`${keys[i]} ${keys[j]}`);
    for (let i = 0; i < faults.length; i++) {
      for (let j = i + 1; j < faults.length; j++) {
        if (pair(i, j)) continue;
        for (let k = j + 1; k < faults.length; k++) {
          if (!pair(i, k) && !pair(j, k)) yield [faults[i], faults[j], faults[k]];
        }
      }
    }
  }

  // ---- Sources elsewhere in their ranges than at their volts

  const MOST_TRIED = 256; // ways to set them apart; with more, all are at the same end
  const NEAR = 1500; // mV from what is read that a limit is tried with pairs: a voltmeter's error
  const TENTH = 100; // volts past a limit are given in tenths, mV
  const MOST_WITH_FAILURES = 16; // ways in which failures are tried; with more, one is moved at a time

  const product = (lists) => lists.reduce((ways, list) =>
    ways.flatMap((way) => list.map((one) => [...way, one])), [[]]);

  /* The airframe with its sources at other volts than their own, nothing failed: each at volts that
  are read, behind a diode or not, or at the bottom or the top; then with some of them just past a
  limit in volts. None where nothing goes by volts. */
  function* anywhereInRange(net, condition, observations) {
    const points = readInRange(net, condition, observations);
    if (!points.length) return;
    const every = points.map(({ range, read }) => [...new Set([...read, ...range])]);
    const ends = [0, 1].map((end) => points.map(({ range }) => range[end]));
    const ways = sizeOf(every) <= MOST_TRIED ? product(every) : [...ends];
    const past = every.map((at, i) => [...new Set([...at, ...pastLimits(net, points[i])])]);
    const own = past.map((at) => [null, ...at]);
    if (sizeOf(own) <= MOST_TRIED) ways.push(...fewestFirst(product(own)));
    else for (const others of [null, ...ends]) ways.push(...oneAtATime(past, others));
    for (const [, of] of movedAll(net, points, ways)) yield of;
  }

  /* The same for failures that the own volts do not explain: sources at volts that are read and just
  past each limit in volts, the fewest at a time first; then each at the bottom or the top of its
  range. Where that would be too many ways, one at a time is past a limit, the others at their own
  volts, at the bottom or at the top. Pairs are tried at volts that are read, one source at a time just
  past a limit as near to these as a voltmeter may be off, and with all sources at the same end. */
  function withFailures(net, condition, observations) {
    const points = readInRange(net, condition, observations);
    if (!points.length) return [];
    const own = points.map(({ read }) => [null, ...read]);
    const past = points.map((point) => pastLimits(net, point)
      .filter((mv) => mv !== net.sources[net.node.get(point.id)].millivolts));
    const near = past.map((limits, i) => limits.filter((mv) =>
      points[i].read.some((v) => Math.abs(mv - v) <= NEAR)));
    const ranges = points.map(({ range }) => range);
    const sameEnd = [0, 1].map((end) => ranges.map((range) => range[end]));
    const ends = 2 ** ranges.length <= MOST_WITH_FAILURES ? product(ranges) : sameEnd;
    const readOff = sizeOf(own) <= MOST_WITH_FAILURES ? fewestFirst(product(own))
      : oneAtATime(points.map(({ read }) => read));
    const forPairs = new Set([...readOff, ...oneAtATime(near), ...sameEnd].map(String));
    const every = own.map((at, i) => [...new Set([...at, ...past[i]])]);
    const ways = sizeOf(every) <= MOST_WITH_FAILURES ? [...fewestFirst(product(every)), ...ends]
      : [...readOff, ...oneAtATime(past), ...ends, ...sameEnd.flatMap((end) => oneAtATime(past, end))];
    return [...movedAll(net, points, ways)].map(([way, of]) => ({ of, pairs: forPairs.has(String(way)) }));
  }

  const sizeOf = (lists) => lists.reduce((size, list) => size * list.length, 1);

  function fewestFirst(ways) {
    const count = (way) => way.filter((mv) => mv !== null).length;
    return ways.map((way, i) => [way, i])
      .sort(([a, i], [b, j]) => count(a) - count(b) || i - j).map(([way]) => way);
  }

  /* One source at each of its points; the others at their own volts, or as `others` has them. */
  const oneAtATime = (points, others = null) => points.flatMap((at, place) => at.map((mv) =>
    points.map((_, i) => (i === place ? mv : others && others[i]))));

  function* movedAll(net, points, ways) {
    const known = new Set();
    for (const way of ways) {
      if (known.has(String(way)) || way.every((mv) => mv === null)) continue;
      known.add(String(way));
      yield [way, moved(net, points, way)];
    }
  }

  /* In each part of a source's range in which what goes by volts is the same: the volts nearest to
  those that are read, or to its own; in tenths of a volt if there are any. */
  function pastLimits(net, { id, range: [low, high], read }) {
    const cuts = limitsOf(net).filter((mv) => low < mv && mv <= high);
    const near = read.length ? read : [net.sources[net.node.get(id)].millivolts];
    return [low, ...cuts].map((bottom, i) => {
      const top = i < cuts.length ? cuts[i] - 1 : high;
      const tenths = [Math.ceil(bottom / TENTH) * TENTH, Math.floor(top / TENTH) * TENTH];
      const [least, most] = tenths[0] <= tenths[1] ? tenths : [bottom, top];
      const within = near.map((v) => Math.min(Math.max(v, least), most));
      const away = within.map((at, k) => Math.abs(at - near[k]));
      return within[away.indexOf(Math.min(...away))];
    });
  }

  /* The volts of a source, less a diode or not, at which what goes by volts changes. */
  function limitsOf(net) {
    const cuts = net.equipment.map(({ least }) => least).filter(Boolean);
    for (const terms of [...net.terms.filter(Boolean), ...net.indications.map((i) => i.terms || [])]) {
      for (const t of terms) {
        // Both limits are strict.
        cuts.push(...t.above.map(([, mv]) => mv + 1), ...t.below.map(([, mv]) => mv));
      }
    }
    const all = new Set(cuts.flatMap((cut) => [...dropsOf(net)].map((drop) => cut + drop)));
    return [...all].sort((a, b) => a - b);
  }

  const dropsOf = (net) => new Set([0, ...net.devices.map(({ millivolts }) => millivolts || 0)]);

  /* By source of the condition that has a range: the volts in it that a meter may mean. */
  function readInRange(net, condition, observations) {
    if (!engine.goesByVolts(net)) return [];
    const { sources: here = [] } = net.conditions[net.condition.get(condition)];
    const drops = dropsOf(net);
    const read = observations.filter(({ seen: { kind, unit } }) => kind === "figure" && unit === "V")
      .flatMap(({ seen: { number } }) => [...drops].map((drop) => Math.round(number * 1000) + drop));
    return net.sources.filter(({ id, range }) => range && here.includes(id)).map(({ id, range }) => ({
      id, range, read: [...new Set(read)].filter((mv) => range[0] <= mv && mv <= range[1]),
    }));
  }

  const moved = (net, points, way) => engine.atVolts(net,
    new Map(points.map(({ id }, i) => [id, way[i]]).filter(([, mv]) => mv !== null)));

  /* [source, millivolts] of those that are elsewhere in their ranges. */
  const movedVolts = (net, of) => net.sources
    .map(({ id, range }, s) => [id, of.sources[s].millivolts, range && !of.sources[s].range])
    .filter(([,, is]) => is).map(([id, mv]) => [id, mv]);

  // ---- A source taken off line for a check: only on the ground

  function toTakeOff(net, condition) {
    const { sources = [] } = net.conditions[net.condition.get(condition)];
    const onGround = sources.some((id) =>
      net.node.has(id) && net.sources[net.node.get(id)].kind === "external-power");
    return onGround ? sources : [];
  }

  // ---- Readings as a person distinguishes them

  const compare = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  const written = (answer) => (typeof answer === "string" ? answer : figures.readingText(answer));

  const spanOf = (reading) => reading.band || [reading.number, reading.number];

  function readsTheSame(one, other) {
    if (JSON.stringify(one) === JSON.stringify(other)) return true;
    const kinds = [one.kind, other.kind];
    if (kinds.includes("lit or unlit") && kinds.some((kind) => kind === "lit" || kind === "unlit")) return true;
    if (one.kind !== "figure" || other.kind !== "figure") return false;
    const [[least, most], [lowest, highest]] = [spanOf(one), spanOf(other)];
    if (least === 0 && lowest === 0) return true;
    // A band without a direction goes both ways.
    const against = one.direction && other.direction && one.direction !== other.direction;
    if (!most || !highest || one.unit !== other.unit || against) return false;
    const apart = Math.max(least - highest, lowest - most);
    return apart <= (one.unit === "%" || one.unit === "A" ? SCALE_READ : 0);
  }

  /* For each of these readings of one indication, the range of what may read the same. */
  function readOff(shown, kind) {
    const blank = { kind: "blank", number: 0, unit: "", direction: null, band: null };
    const dark = { ...blank, kind: "unlit" };
    // The same reading has the same text, whatever the order of its fields.
    let seen = shown.map((one) => (kind === "lamp" && one.kind === "blank" ? dark
      : Object.fromEntries(Object.keys(blank).map((field) => [field, one[field]]))));
    const anyWay = (one) => one.kind === "not known" || (kind === "flag" && one.kind === "blank");
    if (seen.some(anyWay)) return seen.map(() => blank);
    // A load of which the figure is not known may be that of another.
    const load = seen.find((one) => one.kind === "load");
    if (load) seen = seen.map((one) => (one.kind === "figure" && spanOf(one)[1] ? load : one));
    const keys = seen.map((one) => JSON.stringify(one));
    const distinct = new Map(seen.map((one, i) => [keys[i], one]));
    let ranges = [];
    for (const reading of distinct.values()) {
      const same = ranges.filter((range) => range.some((member) => readsTheSame(reading, member)));
      ranges = [...ranges.filter((range) => !same.includes(range)), [reading, ...same.flat()]];
    }
    const label = new Map();
    for (const members of ranges) {
      const range = rangeOf(members);
      for (const member of members) label.set(JSON.stringify(member), range);
    }
    return keys.map((key) => label.get(key));
  }

  function rangeOf(members) {
    const before = (a, b) => {
      const [[l, m], [p, q]] = [spanOf(a), spanOf(b)];
      return l < p || (l === p && m < q);
    };
    const first = members.reduce((least, one) => (before(one, least) ? one : least));
    const either = members.find((one) => one.kind === "lit or unlit");
    if (members.length === 1 || either) return either || first;
    const directions = new Set(members.filter((one) => spanOf(one)[1]).map((one) => one.direction));
    const direction = directions.size === 1 ? [...directions][0] : null;
    const [least] = spanOf(first);
    const most = Math.max(...members.map((one) => spanOf(one)[1]));
    return {
      kind: "figure", number: Math.min(Math.max(first.number, least), most), unit: first.unit,
      direction, band: least === most ? null : [least, most],
    };
  }

  return { begin, movedVolts, toTakeOff };
})();
