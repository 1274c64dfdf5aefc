/* The diagnosis: say what the meters and lamps show, and what is dead or works; the causes follow.

What is said is one value, `said`: {condition, seen}, `seen` a map from an indication, item or bus
to what is seen there. It is in the address, so that it can be sent. */
"use strict";

(() => {
  const root = document.querySelector(".diagnose");
  if (!root || !window.airframe) return;
  const { make } = site;
  const net = engine.load(airframe.wiring);
  const names = new Map([...net.components, ...net.equipment, ...net.data.indications]
    .map((one) => [one.id, one.name]));
  const byId = new Map(net.data.indications.map((one) => [one.id, one]));
  const { chip, iconed, picker } = pageParts;
  const PANELS = { "open a panel": "Power off, open the panel", "on the ground": "On the ground, power off, open the panel" };
  const MOST_PRESETS = 4; // readings of a meter to tap
  const MOST = 12; // lines of causes that are listed at once
  const MOST_ORDERED = 60; // single failures that are listed by what else they take
  const MOST_FIRST = 3; // dead items whose own breakers are named
  const BLOCK = 16; // ms of work before the page may breathe

  const nothing = () => ({ condition: net.conditions[0].id, seen: new Map() });
  let said = nothing();
  let normal = null;
  let search = null;
  let chosen = null;
  let listed = {}; // by number of failures: the lines that are listed
  let marks = [];
  const before = [];

  // ---- The address: `c=cruise&o=volts-left:24,gen-2-off:lit,radar:dead`

  function written() {
    const list = [...said.seen].map(([id, seen]) => `${id}:${typeof seen === "string" ? seen
      : seen.kind === "figure" ? `${seen.number}${seen.direction ? `/${seen.direction}` : ""}`
        : seen.kind}`);
    return `c=${said.condition}${list.length ? `&o=${list.map(encodeURIComponent).join(",")}` : ""}`;
  }

  function read(text) {
    const { condition, field, unknown } = pageParts.address(net, text);
    const one = { ...nothing(), condition };
    for (const part of field("o")) {
      const [id, value] = decodeURIComponent(part).split(":");
      const indication = byId.get(id);
      if (indication && /^\d/.test(value)) {
        const [number, direction] = value.split("/");
        one.seen.set(id, figure(indication, Number(number), direction));
      } else if (indication && ["lit", "unlit", "blank", "load", "no load"].includes(value)) {
        one.seen.set(id, { kind: value, number: 0, unit: "", direction: null, band: null });
      } else if (!indication && (net.item.has(id) || net.node.has(id)) && ["dead", "works"].includes(value)) {
        one.seen.set(id, value);
      } else unknown.push(part);
    }
    return [one, pageParts.notHere(unknown)];
  }

  const unitOf = (indication) => figures.scaleOf(net, indication).unit;

  const figure = (indication, number, direction = null) => ({
    kind: "figure", number, unit: unitOf(indication), direction: direction || null, band: null,
  });

  // ---- What is built once

  const bar = make("div", "", "board-bar");
  const condition = picker("Condition before it failed", net.conditions.map((c) => [c.id, c.name]),
    (value) => pageParts.conditionChosen(net, value, () => change((one) => { one.condition = value; })));
  const undo = iconed("\u21b6", "Undo", () => {
    if (!before.length) return;
    said = before.pop();
    show();
  });
  const clear = iconed("\u2715", "Clear", () => change((one) => { one.seen = new Map(); }));
  bar.append(condition.box, undo, clear);
  const notice = make("p", "", "notice");
  const status = make("p", "", "sr-only");
  status.setAttribute("role", "status");

  const inputs = make("section", "", "inputs");
  inputs.setAttribute("aria-label", "What is seen");
  const results = make("section", "", "results");
  results.setAttribute("aria-label", "What may have failed");
  const { picture, pan, art } = pageParts.drawn(airframe, "The drawing with the chosen cause");
  const caption = make("p", "", "drawn-cause");
  const drawn = make("section", "", "drawn-box");
  drawn.append(caption, picture);
  const foot = pageParts.answerBar(results);
  root.append(bar, notice, inputs, results, drawn, foot.element, status);

  const meters = make("div", "", "meters");
  const lamps = make("div", "", "lamps");
  const items = make("div", "", "items");
  // Not the loads: what one source no longer gives the others do, and nearly every failure moves them.
  const rest = site.button("All other lamps and volts read normal", () => change((one) => {
    for (const indication of unread()) one.seen.set(indication.id, usual(indication));
  }), "rest-normal");
  inputs.append(items, meters, lamps, rest);

  // ---- Saying what is seen

  function change(act) {
    before.push({ condition: said.condition, seen: new Map(said.seen) });
    act(said);
    listed = {};
    chosen = null;
    show();
  }

  const put = (id, seen) => change((one) => {
    if (seen === null) one.seen.delete(id);
    else one.seen.set(id, seen);
  });

  const unread = () => net.data.indications.filter(({ id, kind }) => !said.seen.has(id) && !["loadmeter", "ammeter"].includes(kind));

  /* What an indication shows, as somebody reads it. */
  function asRead(indication, { kind, number, direction }) {
    if (kind !== "figure") return { kind, number: 0, unit: "", direction: null, band: null };
    const shown = indication.kind === "voltmeter" ? number : Math.round(number / 5) * 5;
    return figure(indication, shown, shown ? direction : null);
  }

  /* The same with nothing failed. */
  const usual = (indication) => asRead(indication, normal[indication.id]);

  function step(indication, sign) {
    const seen = said.seen.get(indication.id);
    const size = unitOf(indication) === "V" && instruments.topOf(net, indication) < 60 ? 1 : 5;
    const number = Math.max(0, (sign > 0 ? Math.floor(seen.number / size) : Math.ceil(seen.number / size)) * size + sign * size);
    put(indication.id, figure(indication, number, number ? seen.direction : null));
  }

  /* The inputs stay as they are: one that is made anew would lose what is being typed. */
  function typed(indication, field) {
    const number = parseFloat(field.value.replace(",", "."));
    if (!(number >= 0)) return;
    const reading = figure(indication, number, number ? said.seen.get(indication.id).direction : null);
    said.seen.set(indication.id, reading);
    field.closest(".meter").firstChild.replaceWith(instruments.gauge(net, indication, reading));
    listed = {};
    chosen = null;
    site.anchor(written());
    begin();
  }

  /* The button that had the focus has it again when the inputs have been made anew. */
  function showInputs() {
    const buttons = () => [...inputs.querySelectorAll("button, input")];
    const had = buttons().indexOf(document.activeElement);
    makeInputs();
    if (had >= 0 && buttons()[had]) buttons()[had].focus({ preventScroll: true });
  }

  function makeInputs() {
    meters.replaceChildren();
    lamps.replaceChildren();
    for (const indication of net.data.indications) {
      const seen = said.seen.get(indication.id);
      if (instruments.isLamp(indication)) lamps.append(lampButton(indication, seen));
      else meters.append(meterBox(indication, seen));
    }
    showItems();
    rest.hidden = !said.seen.size || !unread().length;
    undo.disabled = !before.length;
    clear.disabled = !said.seen.size;
    condition.select.value = said.condition;
  }

  function meterBox(indication, seen) {
    const made = make("div", "", seen ? "meter read" : "meter");
    const shown = seen || { kind: "unread", number: 0, unit: "", direction: null, band: null };
    made.append(instruments.gauge(net, indication, shown), make("p", indication.name, "meter-name"));
    const row = make("div", "", "stepper");
    if (!seen) {
      for (const reading of presets(indication)) {
        const text = instruments.text(reading, indication.kind);
        const button = site.button(text, () => put(indication.id, reading));
        button.setAttribute("aria-label", `${indication.name}: ${text}`);
        row.append(button);
      }
      made.append(row);
      return made;
    }
    const less = site.button("\u2212", () => step(indication, -1));
    less.setAttribute("aria-label", `${indication.name}: less`);
    const value = make("input");
    value.inputMode = "decimal";
    // An ammeter's direction is on the buttons below.
    value.value = instruments.text({ ...seen, direction: null }, indication.kind);
    value.setAttribute("aria-label", indication.name);
    value.addEventListener("focus", () => value.select());
    value.addEventListener("input", () => typed(indication, value));
    const more = site.button("+", () => step(indication, 1));
    more.setAttribute("aria-label", `${indication.name}: more`);
    row.append(less, value, more);
    const back = site.button("\u00d7", () => put(indication.id, null), "take-back");
    back.setAttribute("aria-label", `${indication.name}: take back`);
    made.append(back, row);
    if (seen.number && indication.kind === "ammeter") {
      const directions = make("div", "", "stepper");
      for (const direction of ["discharge", "charge side"]) {
        const button = site.button(direction, () => put(indication.id,
          { ...said.seen.get(indication.id), direction: seen.direction === direction ? null : direction }));
        button.setAttribute("aria-pressed", String(seen.direction === direction));
        directions.append(button);
      }
      made.append(directions);
    }
    return made;
  }

  /* What a meter may well show: nothing, what it shows with nothing failed and, most often shown
  first, a voltmeter what it shows so in other conditions, a loadmeter or ammeter what a lost source or
  a named failure makes of it here. What reads nearly the same is there once. */
  function presets(indication) {
    const { id, kind } = indication;
    const volts = kind === "voltmeter";
    const near = (one, other) => one.direction === other.direction
      && Math.abs(one.number - other.number) <= (volts ? 1.5 : Math.max(10, one.number / 8));
    const groups = [];
    for (const { [id]: shown } of volts ? inConditions() : inFailures()) {
      const group = groups.find((one) => near(one, shown));
      if (group) group.count += 1;
      else if (shown.kind === "figure") groups.push({ ...shown, count: 1 });
    }
    groups.sort((one, other) => other.count - one.count);
    const found = [figure(indication, 0)];
    for (const shown of [normal[id], ...groups]) {
      const reading = asRead(indication, shown);
      if (reading.number && !found.some((one) => near(reading, one))) found.push(reading);
    }
    const signed = ({ number, direction }) => (direction === normal[id].direction ? number : -number);
    return found.slice(0, MOST_PRESETS).sort((one, other) => signed(one) - signed(other));
  }

  const inConditions = engine.once(() => net.conditions.map((c) =>
    figures.readings(engine.solve(net, [{ condition: c.id, failed: [] }]))));

  const shownInFailures = {};

  /* What the meters show here with each source lost, and in each named failure. */
  const inFailures = () => (shownInFailures[said.condition] ||= [
    ...net.faults.filter(([, mode]) => mode === "lost").map((fault) => [fault]),
    ...net.data.failures.map(({ failed }) => failed),
  ].map((failed) => figures.readings(engine.solve(net, [{ condition: said.condition, failed }]))));

  /* A lamp is not looked at, lit, or unlit: a tap goes on to the next. */
  function lampButton(indication, seen) {
    const next = !seen ? "lit" : seen.kind === "lit" ? "unlit" : null;
    const button = site.button("", () => put(indication.id,
      next && { kind: next, number: 0, unit: "", direction: null, band: null }),
    `lamp ${seen ? `lamp-${seen.kind} read` : "lamp-unread"}`);
    button.append(make("b", indication.name),
      make("small", seen ? instruments.text(seen, indication.kind) : "not read"));
    return button;
  }

  // ---- Items and buses: found by name, dead or working

  const findable = [
    ...net.data.buses.map((b) => [b.id, b.name, "bus"]),
    ...net.equipment.map((e) => [e.id, e.name, "item"]),
  ];
  const field = make("input");
  field.type = "search";
  field.placeholder = "Item or bus";
  const found = make("ul", "", "found");
  const chips = make("ul", "", "set-list");
  chips.setAttribute("aria-label", "Items and buses");
  const label = make("label", "What is dead, what works?");
  label.append(field);
  items.append(label, found, chips);
  field.addEventListener("input", showFound);
  field.addEventListener("focus", () => site.find(""));

  async function showFound() {
    found.replaceChildren();
    if (!field.value.trim()) return;
    const { rows, said: note } = await pageParts.found(findable, field);
    if (!rows) return;
    if (note) found.append(make("li", note, "hint"));
    for (const [id, name, kind] of rows.slice(0, 8)) {
      const item = make("li");
      const text = make("span", name);
      const own = net.item.has(id) ? ownProtectors(id).map(placardOf) : [];
      text.append(make("small", own.join(", ") || kind));
      item.append(text);
      for (const word of ["dead", "works"]) {
        const button = site.button(word, () => {
          field.value = "";
          put(id, word);
        });
        button.setAttribute("aria-label", `${name}: ${word}`);
        item.append(button);
      }
      found.append(item);
    }
    if (rows.length > 8) found.append(make("li", `${rows.length - 8} more`));
  }

  function showItems() {
    showFound();
    chips.replaceChildren();
    for (const [id, seen] of said.seen) {
      if (byId.has(id)) continue;
      chips.append(chip(`${names.get(id)}: ${seen}`, seen === "dead" ? "failed" : "act",
        () => put(id, null)));
    }
    chips.hidden = !chips.children.length;
  }

  // ---- Searching, in blocks with a breath between

  let turn = 0;
  let unshown = false;
  const channel = new MessageChannel();
  channel.port1.onmessage = ({ data }) => { if (data === turn) goOn(); };

  function begin() {
    turn += 1;
    if (!said.seen.size) {
      search = null;
      showResults();
      return;
    }
    search = diagnosis.begin(net, {
      condition: said.condition,
      observations: [...said.seen].map(([subject, seen]) => ({ subject, seen })),
      failures: net.data.failures,
    });
    unshown = false;
    channel.port2.postMessage(turn);
  }

  /* A block of work, or what it has found is shown: each by itself, so that the page stays alive. */
  function goOn() {
    const { order } = search;
    const [checks, near] = [search.checks(), search.nearMisses()];
    if (unshown) showResults();
    else search.work(BLOCK);
    unshown = !unshown && (search.done || search.order !== order
      || search.checks() !== checks || search.nearMisses() !== near);
    if (unshown || !search.done) channel.port2.postMessage(turn);
  }

  // ---- The answer

  const IF = {
    "": "", dip: ", if contactors drop out", overload: ", if what is overloaded opens",
  };

  const named = new Map(net.data.failures.filter(({ failed }) => failed.length > 1)
    .map(({ failed, name }) => [causeList.keyOf({ failed, reading: "" }), name]));
  const saysLittle = (cause) => Boolean(unsureOf(cause));

  const voltsText = (volts) => headline.joined(volts.map(([id, mv]) => `${names.get(id)} at ${mv / 1000} V`));

  const onlyText = (cause) => IF[cause.reading] + voltsOf(cause) + unsureOf(cause);

  /* What was said to work or to be dead, and of which neither is known if this has failed. */
  function unsureOf(cause) {
    if (!cause.outcome) return "";
    const outcome = cause.outcome();
    const seen = (list, isUnsure) => list.filter(({ id }, n) => said.seen.has(id) && isUnsure(id, n))
      .map(({ id }) => names.get(id));
    const items = seen(net.equipment, (id, e) => outcome.notKnown[e] & 1);
    const readings = outcome.after.conflicts.some((mask) => mask & 1) ? cause.readings() : {};
    const meters = seen(net.indications, (id) => readings[id] && readings[id].kind === "not known");
    const parts = [[items, "whether", "work"], [meters, "what", "read"]].filter(([ids]) => ids.length)
      .map(([ids, word, verb]) => `${word} ${headline.joined(ids)} ${verb}${ids.length === 1 ? "s" : ""}`);
    return parts.length ? ` (${parts.join(" and ")} then is not known)` : "";
  }

  const voltsOf = ({ volts = [] }) => (volts.length ? `, with ${voltsText(volts)}` : "");

  const nameOf = (cause) => named.get(causeList.keyOf({ ...cause, reading: "" }));

  const causeText = (cause) => (nameOf(cause) ? `${nameOf(cause)}: ` : "") + headline.joined(cause.failed.map(([id, mode]) =>
    `${names.get(id)} ${airframe.modes[mode].toLowerCase()}`)) + onlyText(cause);

  const SIZES = ["", "single failure", "pair", "triple", "named failure"];
  // What sets leave out is said where nothing explains what is seen: it may.
  const LEFT_OUT = "without shorted diodes, stuck breakers and stuck switches";
  const DEPTHS = ["", "one at a time", ...["two", "three"].map((most) => `alone, and up to ${most} together ${LEFT_OUT}`)];

  const seenText = ({ subject, seen }) => `\u2018${names.get(subject)}: ${typeof seen === "string"
    ? seen : instruments.text(seen, byId.get(subject).kind)}\u2019`;

  /* `7 single failures explain all but ‘COM 1: dead’`. */
  function explaining({ rows: { length }, size, against }) {
    const wrong = headline.joined(against.map(seenText));
    if (wrong && !size) return `But for ${wrong}, nothing need have failed`;
    const some = wrong && search.moreNear ? `${length} or more ${SIZES[size]}s` : headline.counted(length, SIZES[size]);
    return `${some} explain${some.endsWith("s") ? "" : "s"} ${wrong ? `all but ${wrong}` : "it"}`;
  }

  function showResults() {
    results.replaceChildren();
    if (!search) {
      results.append(make("p", "Tap a meter, a lamp, or name what is dead. The causes follow.", "first hint"));
      showCause(null);
      foot.say("");
      return;
    }
    const { candidates, fits } = search;
    const groups = search.groups().map(([isNamed, causes, against]) => ({
      size: isNamed ? 4 : Math.min(causes[0].failed.length, 4), against,
      rows: byFailure(causes).map(([one, ...others]) => Object.assign(one, { others })),
    }));
    const rows = groups.flatMap((group) => group.rows);
    const [fewest] = groups;
    const smallest = fewest && !fewest.against.length ? fewest.size : 0;
    const first = make("p", "", "first");
    const none = search.order > 1 ? "No single failure and no pair explains it" : "No single failure explains it";
    let sentence;
    if (fits) sentence = "Nothing need have failed";
    else if (!candidates.length && search.done) sentence = "Nothing that was tried explains it";
    else sentence = fewest ? explaining(fewest) : none;
    // Its figures are bold, and all of it where it has none.
    first.append(...sentence.split(/^(\d+)/).filter(Boolean).map((word, _, all) =>
      make(all.length < 2 || /^\d/.test(word) ? "b" : "span", word)));
    const moved = fits ? diagnosis.movedVolts(net, search.healthyAt) : [];
    if (moved.length) first.append(make("small", ` with ${voltsText(moved)}`));
    const off = seenDead().filter((id) => !worksNormally(id));
    if (off.length) results.append(make("p", `Dead in this condition with nothing failed: ${headline.joined(off.map((id) => names.get(id)))}.`, "of"));
    // Where readings too are not as usual and a failure explains all of it, that comes first.
    const isExplained = smallest === 1 && [...said.seen].some(([id, seen]) => byId.has(id)
      && instruments.text(seen, byId.get(id).kind) !== instruments.text(usual(byId.get(id)), byId.get(id).kind));
    const away = ownOfDead().length && ownOfDead().every(isAway);
    if (!fits && !isExplained && !away) checkItself("check it and its own breaker first");
    results.append(first);
    foot.say(search.done || fewest || fits ? sentence : "Searching \u2026", first,
      off.length && `${headline.listed(names, off)}: dead in this condition with nothing failed`);
    if (fits) results.append(make("p", "A healthy aircraft shows all of this too.", "of"));
    else if (fewest && !smallest && sentence === explaining(fewest)) results.append(make("p", `${none}.`, "of"));
    if (!search.done) results.append(make("p", ["Trying single failures \u2026", "Trying pairs \u2026", "Trying triples \u2026"][search.order] || "", "of"));
    marks = [];
    for (const group of groups) {
      const { rows: some, size, against } = group;
      const text = headline.counted(some.length, SIZES[size]);
      if (against.length) results.append(near(group, explaining(group) !== sentence));
      else if (fits) results.append(folded(`${text} would not show either`, some, size));
      else results.append(group === fewest ? causes(some, size) : folded(`Also ${text}`, some, size));
    }
    if (!fits && (isExplained || away)) {
      checkItself(away ? "on the ground, check it and its own breaker" : "then check it and its own breaker too");
    }
    const checks = search.checks();
    if (search.done && !checks.length && [search.likely(), candidates].some((some) => byFailure(some).length > 1)) {
      results.append(make("p", "No reading and no item distinguishes these.", "of"));
    }
    if (search.done && search.largest < 3) {
      results.append(make("p", "Sets of more than two failures are not tried: there are too many of them.", "of"));
    }
    if (checks.length) {
      // Of many sets none can be believed: the next check is more than the list of them.
      (smallest > 1 && rows.length > MOST ? first : results.lastChild).after(nextChecks(checks, groups));
    }
    if (search.done && !candidates.length && !fits) {
      results.append(make("p", `Failures of the wiring were tried, ${DEPTHS[search.largest]}. A meter may be wrong: read the meters again. What lies between, as a poor joint or a source that fails slowly, is not tried.`, "of"));
    }
    results.append(make("p", "Loads are read to 5\u00a0% and 5\u00a0A; 0 is a pointer at its stop, less than 0.5. Nothing here replaces the approved fault isolation.", "hint"));
    status.textContent = search.done ? `${sentence}.` : "";
    // A longer search makes its candidates anew.
    const same = chosen && candidates.find((one) => causeList.keyOf(one) === causeList.keyOf(chosen));
    showCause(same || (!chosen && rows.length === 1 ? rows[0] : null));
  }

  const seenDead = () => [...said.seen].filter(([, seen]) => seen === "dead").map(([id]) => id);

  const worksNormally = (id) => {
    const { works, steady } = net.before[net.condition.get(said.condition)];
    return (net.item.has(id) ? works[net.item.get(id)] : steady.live[net.node.get(id)]) & 1;
  };

  /* What is dead may itself have failed, which no failure of the wiring explains: said before all
  else, or after what explains the readings too, with its own breaker and where that is. */
  function checkItself(how) {
    const dead = deadItems();
    const own = ownOfDead();
    if (!dead.length) return;
    const box = make("section", "", "check-first");
    box.append(make("p", dead.length === 1
      ? `${names.get(dead[0])} may itself have failed: ${how}.`
      : `Each dead item may itself have failed: ${how}.`));
    const list = make("ul");
    for (const id of dead.slice(0, MOST_FIRST)) {
      const item = make("li");
      if (dead.length > 1) item.append(make("span", names.get(id)));
      for (const device of ownProtectors(id)) {
        item.append(protectorPlace(device));
        if (isAway(device) && !own.every(isAway)) item.append(make("span", ", on the ground"));
      }
      if (!item.querySelector(".place")) item.append(make("span", "No breaker or fuse of its own."));
      list.append(item);
    }
    if (dead.length > MOST_FIRST) list.append(make("li", `and ${dead.length - MOST_FIRST} more`));
    box.append(list);
    results.append(box);
  }

  const deadItems = () => seenDead().filter((id) => net.item.has(id) && worksNormally(id));

  const ownOfDead = () => deadItems().slice(0, MOST_FIRST).flatMap(ownProtectors);

  /* Whether nobody can reach it here. */
  const isAway = ({ groundOnly }) => groundOnly && !diagnosis.toTakeOff(net, said.condition).length;

  const ownProtectors = (item) => [...new Set(net.equipment[net.item.get(item)].supplies
    .flatMap(([, through]) => through))].map((id) => net.devices[net.device.get(id)])
    .filter((device) => ["breaker", "fuse"].includes(device.kind));

  const whereIs = (id) =>
    ((airframe.cards[id] || { rows: [] }).rows.find(([label]) => label === "Where") || ["", ""])[1];

  const placardOf = ({ id, name }) => name.replace(` (${whereIs(id)})`, "");

  /* Its placard and amps, and on the next line where it is. */
  function protectorPlace({ id, name, amps }) {
    const place = make("span", "", "place");
    const row = whereIs(id);
    place.append(make("b", placardOf({ id, name }), "placard"));
    if (amps) place.append(make("span", ` ${amps}\u00a0A`, "amps"));
    if (row) place.append(" ", make("span", row.replace(/ (\S+)$/, "\u00a0$1"), "where"));
    return place;
  }

  /* The answers of each failure together, first the one that needs no remark. */
  function byFailure(causes) {
    const found = new Map();
    const several = new Set(causes.filter(({ reading }) => reading).map(({ failed }) => failed.length));
    for (const cause of causes) {
      const key = several.has(cause.failed.length) ? causeList.keyOf({ ...cause, reading: "" }) : cause;
      found.set(key, [...(found.get(key) || []), cause]);
    }
    return [...found.values()].map((all) => all.sort((a, b) => !IF[b.reading] - !IF[a.reading]));
  }

  /* How many items a cause takes besides what was said to be dead. */
  function othersLost(cause) {
    const { lost } = cause.outcome();
    return net.equipment.filter(({ id }, e) => lost[e] & 1 && said.seen.get(id) !== "dead").length;
  }

  /* Single failures in the order of what else they take: the item's own breaker before its bus. */
  function causes(some, size, all = listed[size] || MOST) {
    const counted = size === 1 && !search.fits && some.length <= MOST_ORDERED;
    const other = [...said.seen].some(([id, seen]) => seen === "dead" && net.item.has(id)) ? " other" : "";
    const beside = (cause, others = cause.others) => {
      const { comes_on: on, not_known: { length: unsure } } = cause.answer;
      const count = othersLost(cause);
      return [
        counted ? `${count || "no"}${other} ${count === 1 ? "item" : "items"} lost` : size > 1 && SIZES[size],
        counted && unsure && `${unsure} not known`,
        on.length && `${on.length} come${on.length > 1 ? "" : "s"} on: ${[headline.listed(names, on),
          ...pageParts.hazards(names, on).map((one) => one.textContent)].join(". ")}`,
        ...others.map((one) => `also${onlyText(one)}: ${beside(one, [])}`),
      ].filter(Boolean).join(", ");
    };
    const list = causeList.list(counted ? [...some].sort((a, b) =>
      saysLittle(a) - saysLittle(b) || othersLost(a) - othersLost(b)) : some, all,
      { names, modes: airframe.modes, text: causeText, beside, only: onlyText, size: SIZES[size], areNamed: size === 4 },
      (cause) => {
        showCause(cause);
        drawn.scrollIntoView({ block: "nearest" });
      },
      () => {
        listed[size] = all + 40;
        list.element.replaceWith(causes(some, size));
        marks.forEach((mark) => mark(chosen));
      });
    marks.push(list.mark);
    return list.element;
  }

  /* What is less likely is folded: larger sets than the smallest, and all where nothing need have failed. */
  function folded(text, some, size) {
    const fold = make("details", "", "also-sets");
    fold.append(make("summary", text), causes(some, size));
    return fold;
  }

  /* A check as an instruction. */
  function toDo({ effort, subject: id, sourceOff }) {
    const name = names.get(id);
    if (effort === "source off") return `Take ${names.get(sourceOff)} off line, then read ${name}`;
    if (effort === "in view") return `Look at ${name}`;
    if (effort === "try it") return `Try ${name}`;
    const [placard, where] = [placardOf({ id, name }), whereIs(id)];
    return effort === "breaker panel" ? `Breaker ${placard}, ${where}: in or popped?`
      : `${PANELS[effort]}: is ${placard}${where ? ` (${where})` : ""} open?`;
  }

  /* What checks distinguish, where that is not all that is listed. */
  function comparedText(compared, groups) {
    const keys = new Set(compared.map(causeList.keyOf));
    const isCompared = (row) => [row, ...row.others].some((one) => keys.has(causeList.keyOf(one)));
    const parts = search.fits ? ["nothing failed"] : [];
    if (!search.fits && groups.every(({ rows }) => rows.every(isCompared))) return "";
    for (const group of groups) {
      const rows = group.rows.filter(isCompared);
      const text = group.against.length ? explaining({ ...group, rows }).replace(/ explain/, " that explain")
        : headline.counted(rows.length, SIZES[group.size]);
      if (rows.length) parts.push(`${rows.length < group.rows.length ? "the first " : ""}${text}`);
    }
    return `Compared: ${headline.joined(parts)}.`;
  }

  function nextChecks(checks, groups) {
    const section = make("section", "", "look-next");
    const all = [...new Set(checks[0].answers.flatMap(([, causes]) => causes))];
    const compared = byFailure(all).length;
    const first = byFailure(search.likely()).length;
    if (first < compared && !search.fits) {
      section.append(make("p", `No reading and no item distinguishes these first ${first}: the checks below are for sets of more.`, "of"));
    }
    section.append(make("h2", "Look next"));
    const of = comparedText(all, groups);
    if (of) section.append(make("p", of, "of"));
    for (const check of checks.slice(0, 3)) {
      const entry = make("div", "", "check");
      entry.append(make("b", toDo(check)), ...pageParts.hazards(names, [check.subject, check.sourceOff]));
      const list = make("ul");
      const indication = byId.get(check.subject);
      for (const [answer, some] of check.answers) {
        const text = typeof answer === "string" ? answer : instruments.text(answer, indication.kind);
        const [[one], ...others] = byFailure(some);
        const left = others.length ? `${others.length + 1} of these ${compared} stay`
          : one.failed.length ? (!onlyText(one) && nameOf(one)) || causeText(one) : "nothing need have failed";
        const item = make("li");
        // What can be said above is said by a tap; the others are read beside.
        const row = ["in view", "try it"].includes(check.effort)
          ? site.button("", () => put(check.subject, typeof answer === "string" ? answer
            : { ...answer, band: null })) : item;
        row.append(make("b", text), make("span", left));
        if (row !== item) item.append(row);
        list.append(item);
      }
      entry.append(list);
      section.append(entry);
    }
    return section;
  }

  /* What leaves something unexplained: that is in its heading, unless it is said above. */
  function near(group, withHeading) {
    const section = make("section", "", "near");
    if (withHeading) section.append(make("h2", explaining(group)));
    if (group.size) section.append(causes(group.rows, group.size));
    return section;
  }

  // ---- A cause on the drawing

  let view = null;

  function showCause(cause) {
    chosen = cause;
    marks.forEach((mark) => mark(cause));
    drawn.hidden = !cause;
    if (!cause) return;
    const { failed, reading, of = net } = cause;
    const atOnce = engine.solve(of, [{ condition: said.condition, failed }], { dip: reading === "dip" });
    const outcome = reading === "overload" ? figures.openByOverload(atOnce)[0] : atOnce;
    art.paint(drawing.states(outcome));
    const link = make("a", of === net ? "On the board" : "On the board, at the volts of the catalogue");
    link.href = `${airframe.board}#${site.boardState({
      condition: said.condition, failed, reading,
    })}`;
    caption.replaceChildren(make("b", causeText(cause)), link);
    view = view || zoomable(picture, pan, art);
    view.open(failed.map(([id]) => id).filter((id) => art.byId.has(id)).slice(0, 1));
  }

  // ---- Beginning

  function show() {
    const healthy = engine.solve(net, [{ condition: said.condition, failed: [] }]);
    normal = figures.readings(healthy);
    showInputs();
    site.anchor(written());
    begin();
  }

  function start() {
    let unknown;
    [said, unknown] = read(site.anchor());
    notice.textContent = unknown;
    notice.hidden = !unknown;
    show();
  }

  window.addEventListener("hashchange", () => {
    if (site.anchor() !== written()) start();
  });
  start();

  /* Until something is said, the idle browser tries sets that nobody asked for: what the first search
  runs is compiled by then, which else takes longer than the search. */
  const idle = window.requestIdleCallback || ((work) => setTimeout(work, 50));
  const ahead = diagnosis.begin(net, {
    condition: said.condition, order: 2,
    observations: [{ subject: (net.equipment[0] || net.nodes[0]).id, seen: "dead" }],
  });
  (function goAhead() {
    if (search || ahead.done) return;
    ahead.work(BLOCK / 4);
    idle(goAhead);
  })();
})();
