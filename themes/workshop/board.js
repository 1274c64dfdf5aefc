/* The board: the live drawing with any number of things failed, pulled, switched or turned off, and
what follows from them beside it.

What is set is one value, `set`: {condition, failed, switches, pulled, shed, reset, reading}. It is
in the address, so that it can be sent; `undo` keeps the values before. */
"use strict";

(() => {
  const root = document.querySelector(".board");
  if (!root || !window.airframe) return;
  const { make } = site;
  const net = engine.load(airframe.wiring);
  const names = new Map([
    ...net.components, ...net.equipment, ...net.data.functions, ...net.data.indications,
    ...net.data.switches,
  ].map((one) => [one.id, one.name]));
  const kinds = net.kind;
  const { chip, iconed, picker } = pageParts;
  const noun = (kind) => (kind === "switch" ? "switch contacts" : kind.replace("-", " "));
  const READINGS = [
    ["", "As expected"], ["dip", "Drop out", "contactors drop out"],
    ["overload", "Overload opens", "what is overloaded opens"],
  ];
  const assumed = ({ reading }) => READINGS.find(([value]) => value === reading)[2];
  const PULLED = new Set(["breaker"]);
  const STORE = `board ${airframe.wiring.airframe}`;

  const nothing = () => ({
    condition: net.conditions[0].id, failed: {}, switches: {}, pulled: [], shed: [], reset: [],
    reading: "",
  });
  const copy = (set) => JSON.parse(JSON.stringify(set));
  let set = nothing();
  let selected = null;
  let view = null;
  const before = [];

  // ---- The address

  const written = () => site.boardState({ ...set, failed: Object.entries(set.failed) });

  /* What an address sets, and a sentence about what in it does not exist here. */
  function read(text) {
    const { condition, field: list, unknown } = pageParts.address(net, text);
    const one = { ...nothing(), condition };
    const keep = (ids, known) => ids.filter((id) => known(id) || !unknown.push(id));
    for (const pair of list("f")) {
      const [id, mode] = pair.split(":");
      const modes = engine.MODES[kinds.get(id)];
      if (modes && (!mode || modes.includes(mode))) one.failed[id] = mode || modes[0];
      else unknown.push(pair);
    }
    for (const pair of list("s")) {
      const [id, place] = [pair.split(":")[0], decodeURIComponent(pair.split(":")[1] || "")];
      if (net.positions.has(`${id}\n${place}`)) one.switches[id] = place;
      else unknown.push(pair);
    }
    one.pulled = keep(list("p"), (id) => net.device.has(id));
    one.shed = keep(list("x"), (id) => net.item.has(id));
    one.reset = keep(list("r"), (id) => kinds.has(id));
    const [chosen] = list("a");
    if (READINGS.some(([value]) => value === chosen)) one.reading = chosen;
    return [one, pageParts.notHere(unknown)];
  }

  // ---- What is built once

  const { picture, pan, art } = pageParts.drawn(airframe, "The drawing: tap a part to choose it");

  const tap = make("span", "Tap a part to fail it", "hint");
  picture.querySelector("figcaption").prepend(tap);

  const bar = make("div", "", "board-bar");
  const condition = picker("Condition", net.conditions.map((c) => [c.id, c.name]), (value) =>
    pageParts.conditionChosen(net, value, () => change((one) => { one.condition = value; })));
  const reading = picker("Assume", READINGS, (value) => change((one) => { one.reading = value; }));
  const undo = iconed("\u21b6", "Undo", () => {
    if (!before.length) return;
    set = before.pop();
    show();
  });
  const reset = iconed("\u2715", "Clear", () => change((one) => {
    Object.assign(one, { ...nothing(), condition: one.condition });
  }));
  bar.append(condition.box, reading.box, undo, reset);

  const chips = make("ul", "", "set-list");
  chips.setAttribute("aria-label", "What is set");
  const notice = make("p", "", "notice");
  const part = make("section", "", "board-part");
  const answer = make("section", "", "board-answer");
  const status = make("p", "", "sr-only");
  status.setAttribute("role", "status");
  const beside = make("div", "", "beside");
  const finding = make("div", "", "board-finding");
  beside.append(part, finding, answer);
  const more = make("div", "", "board-more");
  const foot = pageParts.answerBar(answer);
  root.append(bar, notice, chips, picture, beside, more, foot.element, status);

  // ---- Changing what is set

  function change(act) {
    before.push(copy(set));
    act(set);
    // What fails is neither pulled nor reset besides.
    for (const id of Object.keys(set.failed)) {
      set.pulled = set.pulled.filter((other) => other !== id);
      set.reset = set.reset.filter((other) => other !== id);
    }
    show();
  }

  const toggled = (list, id) => (list.includes(id) ? list.filter((one) => one !== id) : [...list, id]);

  function fail(id, mode) {
    change((one) => {
      if (one.failed[id] === mode) delete one.failed[id];
      else one.failed[id] = mode;
    });
  }

  // ---- What is set, as chips that take it back

  function showChips() {
    chips.replaceChildren();
    const add = (text, kind, act) => chips.append(chip(text, kind, act));
    for (const [id, mode] of Object.entries(set.failed)) {
      add(`${names.get(id)} ${airframe.modes[mode].toLowerCase()}`, "failed", () => fail(id, mode));
    }
    for (const [id, place] of Object.entries(set.switches)) {
      add(`${names.get(id)}: ${place}`, "act", () => change((one) => { delete one.switches[id]; }));
    }
    const acts = [["pulled", "pulled"], ["shed", "turned off"], ["reset", "reset"]];
    for (const [field, word] of acts) {
      for (const id of set[field]) {
        add(`${names.get(id)} ${word}`, "act", () => change((one) => {
          one[field] = toggled(one[field], id);
        }));
      }
    }
    chips.hidden = !chips.children.length;
    tap.style.visibility = Object.keys(set.failed).length ? "hidden" : "";
    undo.disabled = !before.length;
    reset.disabled = chips.hidden && !set.reading;
  }

  // ---- The chosen part: how it may fail, and what may be done with it

  function choose(id) {
    selected = id;
    showPart();
  }

  /* The button that had the focus has it again when the part's panel has been made anew. */
  function showPart(answers = last) {
    const pressed = part.contains(document.activeElement) && document.activeElement.textContent;
    makePart(answers);
    if (!pressed) return;
    const again = [...part.querySelectorAll("button")].find((one) => one.textContent === pressed);
    if (again) again.focus({ preventScroll: true });
  }

  function makePart(answers) {
    part.replaceChildren();
    for (const element of art.svg.querySelectorAll(".chosen")) element.classList.remove("chosen");
    part.hidden = !selected;
    if (!selected) return;
    for (const element of art.byId.get(selected) || []) element.classList.add("chosen");
    const item = net.item.has(selected);
    const turned = net.data.switches.find((s) => s.id === selected);
    const head = make("h2", names.get(selected));
    const kind = kinds.get(selected);
    const about = item ? "item" : turned ? "switch" : describe(selected, kind, answers);
    head.append(make("small", about));
    part.append(head);
    if (airframe.pages[selected]) part.append(link(selected, "Its page"));
    const row = make("div", "", "buttons");
    // A part always has the same buttons, in the same order: nothing moves under the finger.
    const press = (text, pressed, act) => {
      const button = site.button(text, act);
      button.setAttribute("aria-pressed", String(pressed));
      row.append(button);
      return button;
    };
    if (turned) {
      const now = set.switches[selected] ?? conditionPlace(turned);
      for (const place of turned.positions) {
        press(place, now === place, () => change((one) => {
          if (place === conditionPlace(turned)) delete one.switches[selected];
          else one.switches[selected] = place;
        }));
      }
    } else if (item) {
      press("Turned off", set.shed.includes(selected), () => change((one) => {
        one.shed = toggled(one.shed, selected);
      }));
      for (const id of breakersOf(selected)) press(`Breaker ${names.get(id)}`, false, () => choose(id));
    } else {
      const failed = set.failed[selected];
      for (const mode of engine.MODES[kind]) {
        press(airframe.modes[mode], failed === mode, () => fail(selected, mode));
      }
      press("Not failed", !failed, () => { if (failed) fail(selected, failed); });
      if (PULLED.has(kind)) {
        press("Pulled", set.pulled.includes(selected), () => change((one) => {
          one.pulled = toggled(one.pulled, selected);
        })).disabled = Boolean(failed);
      }
      const opened = set.reset.includes(selected) || canBeReset(selected, answers);
      if (opened) {
        press("Reset it", set.reset.includes(selected), () => change((one) => {
          one.reset = toggled(one.reset, selected);
        }));
      }
    }
    part.append(row);
    if (PULLED.has(kind)) part.append(make("p", "Open, Stuck closed: the breaker itself has failed. Pulled: the crew opens it afterwards.", "hint"));
  }

  const conditionPlace = (one) => {
    const here = net.conditions[net.condition.get(set.condition)];
    return (here.switches || {})[one.id] ?? one.positions[0];
  };

  const breakersOf = (item) => [...new Set((net.equipment[net.item.get(item)].supplies || [])
    .map(([, through]) => through[0]).filter((id) => id && PULLED.has(kinds.get(id))))];

  function canBeReset(id, answers) {
    const { expected } = answers;
    return expected.opened[id] === "tripped" || expected.stalled.includes(id);
  }

  function describe(id, kind, answers) {
    const words = [noun(kind)];
    const node = answers.shown.nodes[id];
    if (node && kind === "bus") words.push(node.live ? `${instruments.short(node.volts)}\u00a0V` : "dead");
    const device = net.device.get(id);
    if (device !== undefined && net.devices[device].amps) words.push(`${net.devices[device].amps}\u00a0A`);
    if (answers.shown.opened[id]) words.push(answers.shown.opened[id]);
    if (answers.shown.stalled.includes(id)) words.push("stalled by the short");
    return words.join(", ");
  }

  // ---- The answer

  let last = null;
  let later = 0;

  function show() {
    last = headline.solved(net, {
      condition: set.condition, failed: Object.entries(set.failed), reading: set.reading,
      then: { switches: set.switches, pulled: set.pulled, shed: set.shed, reset: set.reset },
    });
    art.paint(drawing.states(last.shown.outcome));
    condition.select.value = set.condition;
    reading.select.value = set.reading;
    showChips();
    showPart(last);
    showAnswer(last);
  }

  function showAnswer(answers) {
    const { shown, normal } = answers;
    const said = headline.sentences(net, names, answers);
    answer.replaceChildren();
    const idle = !Object.keys(set.failed).length && !answers.acted;
    const first = make("p", "", "first");
    first.append(...emphasised(idle ? "Nothing has failed" : said.first));
    answer.append(first);
    foot.say(idle ? "" : said.first, first);
    const ofItems = shown.lost.length ? `of ${said.working} working items` : idle
      ? `${said.working} items work` : "";
    if (ofItems) answer.append(make("p", ofItems, "of"));
    if (set.reading && !idle) {
      const rest = answers.isNews(answers.expected) ? "" : " Here it makes no difference.";
      answer.append(make("p", `Assumed: ${assumed(answers)}.${rest}`, "of"));
    }
    const comesLive = [...net.data.buses, ...net.sources].map(({ id }) => id)
      .filter((id) => shown.nodes[id].live && !normal.nodes[id].live);
    answer.append(...pageParts.hazards(names, [...shown.comes_on, ...shown.turned_on, ...comesLive]));
    if (!idle) said.more.forEach((sentence) => answer.append(make("p", sentence, "besides")));
    status.textContent = [idle ? "Nothing has failed." : `${said.first}.`,
      ...(idle ? [] : said.more.slice(0, 2))].join(" ");
    answer.append(functionRows(shown, normal));
    answer.append(batteryRows());
    answer.append(sourceRows(shown));
    answer.append(make("p", "For a short time: if all starts and motors draw at once. The percentages leave it out.", "of"));
    // What is below comes after the answer has been painted.
    clearTimeout(later);
    later = setTimeout(() => requestAnimationFrame(() => {
      site.anchor(written());
      showMore(answers, said);
    }), 0);
  }

  /* The figures in a first sentence in bold. */
  const emphasised = (text) => text.split(/(\d+)/).filter(Boolean).map((word) =>
    make(/^\d/.test(word) ? "b" : "span", word));

  const link = (id, text = names.get(id)) => {
    const page = airframe.pages[id];
    if (!page) return make("span", text);
    const anchor = make("a", text);
    anchor.href = `${page}#view-${net.condition.get(set.condition)}`;
    return anchor;
  };

  function functionRows(shown, normal) {
    const list = make("ul", "", "functions");
    const providers = (f) => {
      const all = [];
      const add = (one) => (typeof one === "string" ? all.push(one) : (one.any || one.all).forEach(add));
      f.providers.forEach(add);
      return all;
    };
    const works = new Set([...shown.kept, ...shown.reduced, ...shown.comes_on, ...shown.turned_on]);
    const rows = net.data.functions.filter((f) => {
      const [now, was] = [shown.functions[f.id], normal.functions[f.id]];
      return now !== was && (now !== "kept" || was === "lost");
    }).sort((a, b) => (shown.functions[a.id] === "lost" ? 0 : 1) - (shown.functions[b.id] === "lost" ? 0 : 1));
    for (const f of rows) {
      const lost = shown.functions[f.id] === "lost";
      const ended = headline.turnedOff(f, shown) ? "turned off" : "lost";
      const item = make("li", "", lost ? "function-lost" : "function-left");
      const left = providers(f).filter((id) => works.has(id)).map((id) => names.get(id));
      item.append(link(f.id), make("small", lost ? left.length ? `${ended}; ${headline.joined(left)} alone is not enough` : ended
        : normal.functions[f.id] === "lost" ? "available, was not before" : `only ${headline.joined(left)} left`));
      list.append(item);
    }
    return list;
  }

  function batteryRows() {
    const list = make("ul", "", "batteries");
    const opened = last.opened ? figures.endurance(last.opened) : [];
    const found = figures.endurance(last.shown.outcome);
    const row = (one, time, notes) => {
      const item = make("li");
      item.append(make("b", time), make("span", ` ${names.get(one.battery)}`), make("small", notes.join("; ")));
      list.append(item);
    };
    for (const one of found) {
      const noLimit = one.reaches === "without-limit" && mustOpen(one).length;
      const then = opened.find(({ battery }) => battery === one.battery);
      const notes = noLimit ? ["nothing draws from it"] : [];
      notes.push(...notesOn(one));
      if (one.stillClosed.length && last.opened) {
        const time = then ? [lasts(then).toLowerCase(), ...notesOn(then)].join(", ") : "it carries nothing";
        notes.push(`if what is overloaded opens: ${time}`);
      }
      row(one, noLimit ? "Not known" : lasts(one), [...notes, acting(one)]);
    }
    for (const one of opened.filter(({ battery }) => !found.some((of) => of.battery === battery))) {
      row(one, lasts(one), ["if what is overloaded opens, as it must; nothing draws from it before", ...notesOn(one), acting(one)]);
    }
    return list;
  }

  const plain = (minutes) => minutes.text(1).replace(".0", "");

  const acting = (one) => (answerIsBeforeCrew() ? "nothing shed"
    : `you acting as set ${one.acting.n ? `at minute ${plain(one.acting)}` : "at once"}`);

  /* What goes with a battery's minutes, in either answer. */
  function notesOn(one) {
    const notes = [];
    if (one.upTo && !one.unknown.length) notes.push("depending on battery volts");
    if (one.total && one.total.compare(one.required) < 0) notes.push(`less than the ${plain(one.required)}\u00a0min required`);
    if (one.unknown.length) notes.push("may be less: it is not known what all that it feeds draws from it");
    const named = (ids) => headline.joined(ids.map((id) => names.get(id)));
    if (one.equallyCharged.length) notes.push(`with ${named(one.equallyCharged)} equally charged`);
    if (one.stillClosed.length) notes.push(`until ${one.stillClosed.map((id) => names.get(id)).join(" or ")} opens by overload, as it must`);
    const closed = (ids, word, when) => notes.push(
      `with ${named(ids)} still closed${word === "may" ? ", which may open," : ""} ${when}`);
    if (one.mayOpen.length) notes.push(`with ${named(one.mayOpen)} still closed, which may open`);
    for (const [id, flat, word] of one.opensWhenFlat) closed([id], word, `once ${names.get(flat)} is flat`);
    for (const word of ["must", "may"]) {
      const ids = one.opensInLanding.filter((id) => one.mayOpenInLanding.includes(id) === (word === "may"));
      if (ids.length) closed(ids, word, "in the landing");
    }
    for (const [flat, amps] of one.overRatingLater) {
      notes.push(`over its rating ${flat ? `once ${names.get(flat)} is flat` : "in the landing"}: ${amps.text(1)}\u00a0A`);
    }
    if (one.movesAtLowVolts.length) {
      const moves = one.movesAtLowVolts.map(([id, verb]) => `${names.get(id)} ${verb}`);
      notes.push(`until ${headline.joined(moves)}, as the volts go down`);
    }
    if (one.movesAtHighVolts.length) {
      const moves = one.movesAtHighVolts.map(([id, verb]) => `${names.get(id)} ${verb}`);
      notes.push(`unless ${headline.joined(moves)} at more volts than in the catalogue`);
    }
    if (one.lostAtLowVolts.length) notes.push(`lost as its volts go down: ${named(one.lostAtLowVolts)}`);
    return notes;
  }

  const answerIsBeforeCrew = () => !last.acted;
  const isLong = (minutes) => minutes.compare(figures.ratio(240, 1)) > 0;

  /* What must open by overload, at once or later. */
  const mustOpen = (one) => [...one.stillClosed, ...one.opensWhenFlat.filter(([, , word]) => word === "must"),
    ...one.opensInLanding.filter((id) => !one.mayOpenInLanding.includes(id))];

  function lasts({ total, upTo, unknown, reaches }) {
    if (!total) return reaches === "without-limit" ? "No limit" : "Not known";
    if (unknown.length) {
      return isLong(upTo || total) ? "Not known" : `At most ${(upTo || total).roundedDown}\u00a0min`;
    }
    if (isLong(total)) return "More than 4 hours";
    const from = total.roundedDown;
    if (!upTo) return `${from}\u00a0min`;
    return isLong(upTo) ? `${from}\u00a0min to more than 4 hours`
      : `${from} to ${upTo.roundedDown}\u00a0min`;
  }

  function sourceRows(shown) {
    const list = make("ul", "", "sources");
    const { sources } = figures.amps(shown.outcome);
    const peaks = figures.peaks(shown.outcome);
    const charged = figures.charged(shown.outcome);
    net.sources.forEach((source) => {
      const given = sources[source.id];
      const item = make("li");
      item.append(make("span", source.name));
      if (!given) {
        const failed = shown.failed.find(({ id }) => id === source.id);
        item.append(make("small", failed ? failed.mode : shown.stalled.includes(source.id) ? "stalled" : "off"));
      } else {
        // What it draws then is on its ammeter below.
        const charging = charged.includes(source.id);
        const amps = given.amps.text(1);
        const known = !given.atLeast || amps !== "0.0";
        const figure = known ? `${given.atLeast ? "at least " : ""}${amps}\u00a0A` : "not known";
        item.append(charging ? make("small", "charging") : make("b", figure));
        if (given.percent && known && !charging) {
          const percent = given.percent.whole;
          item.append(make("small", `${percent}\u00a0%`));
          const level = make("meter");
          level.max = 150;
          level.value = Math.min(150, percent);
          level.setAttribute("aria-hidden", "true");
          if (percent > 100) item.classList.add("over");
          item.append(level);
        }
        // Not all starts come together, and what has no figure may add to them.
        const peak = peaks.get(source.id);
        const allowed = Math.max(source.amps5min || 0, source.amps5s || 0);
        if (peak.minus(given.amps).compare(headline.NEGLIGIBLE_AMPS) > 0) {
          const isOver = allowed && peak.compare(figures.exact(allowed)) > 0;
          const over = isOver ? `, over its short-time rating of ${allowed}\u00a0A` : "";
          item.append(make("small", `${given.atLeast ? "" : "up to "}${peak.text(1)}\u00a0A for a short time${over}`, "short-time"));
        }
      }
      list.append(item);
    });
    return list;
  }

  // ---- The sections below: what is lost, what one sees, how it comes about, finding, keeping

  const open = { lost: true, see: true };

  /* A section that is made when it is opened. */
  function fold(id, title, content, into = more) {
    const box = make("details", "", "fold");
    box.id = `board-${id}`;
    box.open = Boolean(open[id]);
    const summary = make("summary");
    summary.append(make("h2", title));
    box.append(summary);
    const fill = engine.once(() => box.append(content()));
    if (box.open) fill();
    box.addEventListener("toggle", () => {
      open[id] = box.open;
      if (!box.open) return;
      fill();
      // Whoever opens the search has come to type.
      const field = box.contains(document.activeElement) && box.querySelector("[type=search]");
      if (field) field.focus();
    });
    into.append(box);
  }

  function showMore(answers, said) {
    const { shown, normal } = answers;
    more.replaceChildren();
    if (shown.lost.length) fold("lost", `Lost: ${shown.lost.length}`, () => byChapter(shown.lost));
    if (shown.comes_on.length) fold("on", `Comes on: ${shown.comes_on.length}`, () => byChapter(shown.comes_on, "ifItComesOn"));
    if (shown.shed.length) fold("off", `Turned off: ${shown.shed.length}`, () => byChapter(shown.shed));
    if (shown.not_known.length) fold("not-known", `Not known: ${shown.not_known.length}`, () => byChapter(shown.not_known));
    if (shown.reduced.length) fold("reduced", `One supply or alternative less: ${shown.reduced.length}`, () => byChapter(shown.reduced));
    if (said.newlyOnBattery.length) fold("battery", `Now on battery only: ${said.newlyOnBattery.length}`, () => byChapter(said.newlyOnBattery));
    const left = [...shown.kept, ...shown.reduced, ...shown.comes_on, ...shown.turned_on];
    fold("left", `Still works: ${left.length}`, () => stillWorks(shown, left));
    fold("see", "What you see", () => seen(shown, normal));
    if (Object.keys(set.failed).length || answers.acted) fold("because", "How it comes about", () => steps());
    fold("keep", "Send, keep, write down", () => keeping());
  }

  function stillWorks(shown, items) {
    const box = make("div");
    const live = net.data.buses.filter(({ id }) => shown.nodes[id].live).map(({ id, name }) =>
      `${name} ${instruments.short(shown.nodes[id].volts)}\u00a0V`);
    box.append(make("p", `Live buses: ${live.join(", ") || "none"}.`), byChapter(items));
    return box;
  }

  function byChapter(ids, text) {
    const box = make("div", "", "chapters");
    const chapters = new Map();
    for (const item of net.equipment) {
      if (!ids.includes(item.id)) continue;
      const title = airframe.chapters[item.ata.slice(0, 2)];
      if (!chapters.has(title)) chapters.set(title, []);
      chapters.get(title).push(item);
    }
    for (const title of [...chapters.keys()].sort()) {
      box.append(make("h3", title));
      const list = make("ul");
      for (const item of chapters.get(title).sort((a, b) => (a.name < b.name ? -1 : 1))) {
        const line = make("li");
        line.append(link(item.id));
        const placards = breakersOf(item.id).map((id) => names.get(id));
        if (placards.length) line.append(make("small", placards.join(", ")));
        if (text && item[text]) line.append(make("p", item[text]));
        list.append(line);
      }
      box.append(list);
    }
    return box;
  }

  function seen(shown, normal) {
    const box = make("div", "", "instruments");
    const now = figures.readings(shown.outcome);
    const was = figures.readings(normal.outcome);
    const meters = make("div", "", "meters");
    const lamps = make("div", "", "lamps");
    for (const indication of net.indications) {
      const { id } = indication;
      if (instruments.isLamp(indication)) lamps.append(instruments.lamp(indication, now[id], was[id]));
      else meters.append(instruments.meter(net, indication, now[id], was[id]));
    }
    box.append(meters, lamps);
    return box;
  }

  function steps() {
    const then = last.acted ? { switches: set.switches, pulled: set.pulled, shed: set.shed, reset: set.reset } : null;
    const asked = {
      condition: set.condition, failed: Object.entries(set.failed), dip: last.isDip,
    };
    const overload = set.reading === "overload" ? figures.openByOverload : null;
    const box = make("div");
    const stage = (title, events) => {
      if (title) box.append(make("h3", title));
      const list = make("ol", "", "because");
      for (const { step, id, change, causes, in_dip: inDip } of because.causesFirst(events)) {
        const item = make("li");
        item.value = step;
        item.append(make("b", names.get(id)), ` ${change}`);
        const volts = because.closingVolts(net, names, { id, change, causes }, last.shown);
        if (causes.length) item.append(make("small", `because of ${headline.joined(causes.map((c) => names.get(c)))}${volts && ` (${volts})`}${inDip ? ", while the short held volts down; it stays so" : ""}`));
        list.append(item);
      }
      box.append(events.length ? list : make("p", "No other source, bus or device changes.", "hint"));
    };
    if (Object.keys(set.failed).length || !then) stage(then ? "What failed" : "", because.events(net, asked, overload));
    if (then) stage("What you do", because.events(net, { ...asked, then }, overload));
    return box;
  }

  // ---- Finding what is not in the drawing

  const switches = net.data.switches.map((s) => [s.id, s.name, "switch"]);
  const findable = [
    ...net.equipment.map((e) => [e.id, e.name, "item"]),
    ...net.components.map((c) => [c.id, c.name, noun(c.kind)]),
    ...switches,
  ];
  let wanted = "";

  function finder() {
    const box = make("div", "", "board-find");
    const label = make("label", "Name or placard");
    const field = make("input");
    field.type = "search";
    field.value = wanted;
    const found = make("ul");
    const list = async () => {
      wanted = field.value;
      found.replaceChildren();
      const { rows, said } = wanted.trim() ? await pageParts.found(findable, field) : { rows: switches };
      if (!rows) return;
      if (said) found.append(make("li", said, "hint"));
      for (const [id, name, kind] of rows.slice(0, 12)) {
        const item = make("li");
        const button = site.button("", () => {
          choose(id);
          if (art.byId.has(id)) view.open([id]);
          finding.firstChild.open = false;
          field.value = "";
          list();
          picture.scrollIntoView({ block: "start" });
          part.scrollIntoView({ block: "nearest" });
        });
        button.append(make("span", name), make("small", kind));
        item.append(button);
        found.append(item);
      }
      if (rows.length > 12) found.append(make("li", `${rows.length - 12} more`));
    };
    field.addEventListener("input", list);
    label.append(field);
    box.append(label, found);
    list();
    return box;
  }

  fold("find", "Find a breaker, item or switch", finder, finding);

  // ---- Sending, keeping, writing down

  function keeping() {
    const box = make("div", "", "keeping");
    const address = `${location.href.split("#")[0]}#${site.place()[1] ? `${site.place()[1]}/` : ""}${written()}`;
    const row = make("div", "", "buttons");
    const shownBelow = make("div", "", "shown-below");
    const elsewhere = () => make("p", location.protocol === "file:"
      ? "This site is on this device: another can open the link only if it has the same files." : "", "hint");
    const reveal = (...content) => shownBelow.replaceChildren(...content);
    row.append(
      site.button("Link", () => {
        const field = make("textarea");
        field.readOnly = true;
        field.rows = 3;
        field.value = address;
        field.setAttribute("aria-label", "A link to this state");
        reveal(field, copied(address), elsewhere());
        field.select();
      }),
      site.button("QR code", () => {
        try {
          reveal(qr.svg(address, "A link to this state, as a QR code"), elsewhere());
        } catch (error) {
          reveal(make("p", "The link is too long for a QR code.", "hint"));
        }
      }),
      site.button("As YAML", () => {
        const text = asYaml();
        reveal(make("pre", text), copied(text));
      }),
      site.button("Print", () => window.print()),
    );
    box.append(row, shownBelow, kept());
    return box;
  }

  function copied(text) {
    const button = site.button("Copy", () => {
      if (!navigator.clipboard) return;
      navigator.clipboard.writeText(text).then(() => { button.textContent = "Copied"; }, () => {});
    });
    button.hidden = !navigator.clipboard;
    return button;
  }

  /* An entry of the catalogue's `failures`. */
  function asYaml() {
    const words = Object.entries(set.failed).map(([id, mode]) => `${id}:${mode}`);
    const lines = [`# Seen in the condition '${set.condition}', ${assumed(last)}: neither is part of a failure.`,
      "failures:", "  - id: my-failure", "    name: My failure",
      `    failed: [${words.join(", ")}]`];
    const acts = [];
    const pairs = Object.entries(set.switches).map(([id, place]) => `${id}: ${JSON.stringify(place)}`);
    if (pairs.length) acts.push(`      switches: {${pairs.join(", ")}}`);
    for (const field of ["pulled", "shed", "reset"]) {
      if (set[field].length) acts.push(`      ${field}: [${set[field].join(", ")}]`);
    }
    if (acts.length) lines.push("    then:", ...acts);
    if (!words.length) lines.unshift("# A failure needs something that has failed.");
    return `${lines.join("\n")}\n`;
  }

  /* States by name, in this browser. */
  function kept() {
    const box = make("form", "", "kept");
    const all = () => JSON.parse(site.stored(STORE) || "{}");
    const label = make("label", "Keep under a name");
    const field = make("input");
    field.maxLength = 60;
    label.append(field);
    const keep = make("button", "Keep");
    const list = make("ul");
    const refresh = () => {
      list.replaceChildren();
      for (const [name, text] of Object.entries(all())) {
        const item = make("li");
        item.append(site.button(name, () => {
          before.push(copy(set));
          [set] = read(text);
          show();
          window.scrollTo(0, 0);
        }), site.button("Forget", () => {
          const rest = all();
          delete rest[name];
          site.stored(STORE, JSON.stringify(rest));
          refresh();
        }));
        list.append(item);
      }
    };
    box.addEventListener("submit", (event) => {
      event.preventDefault();
      const name = field.value.trim();
      if (!name) {
        field.focus();
        return;
      }
      // A second state under one name does not replace the first.
      let free = name;
      for (let n = 2; (all()[free] ?? written()) !== written(); n++) free = `${name} (${n})`;
      const stored = site.stored(STORE, JSON.stringify({ ...all(), [free]: written() }));
      if (stored === null) label.append(make("small", "This browser keeps nothing for pages opened so."));
      field.value = "";
      refresh();
    });
    box.append(label, keep, list);
    refresh();
    return box;
  }

  // ---- Beginning

  function begin() {
    let said;
    [set, said] = read(site.anchor());
    notice.textContent = said;
    notice.hidden = !said;
    selected = Object.keys(set.failed)[0] || null;
    show();
  }

  art.svg.addEventListener("click", (event) => {
    const element = event.target.closest("[data-part]");
    if (!element || element.classList.contains("wire")) return;
    event.preventDefault();
    choose(element.getAttribute("data-part"));
  });
  // The address is behind what is shown until the answer has been painted.
  window.addEventListener("pagehide", () => site.anchor(written()));
  window.addEventListener("hashchange", () => {
    if (site.anchor() !== written()) begin();
  });

  // The drawing first, the answer once it has been painted.
  [set] = read(site.anchor());
  const outcome = engine.solve(net, [{ condition: set.condition, failed: Object.entries(set.failed) }]);
  art.paint(drawing.states(outcome));
  view = zoomable(picture, pan, art);
  const first_ = Object.keys(set.failed).find((id) => art.byId.has(id));
  // With nothing failed what makes the power is in view: on a phone that is what fits.
  const generators = net.sources.filter((one) => one.kind === "generator").map((one) => one.id);
  view.open(first_ ? [first_] : pan.clientWidth > 560 ? [] : generators);
  requestAnimationFrame(() => setTimeout(begin, 0));
})();
