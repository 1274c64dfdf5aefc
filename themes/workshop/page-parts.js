/* What the board and the diagnosis are both made of: two pages whose state is in the address. */
"use strict";

const pageParts = (() => {
  const { make } = site;

  /* A select with its label above: {box, select}; `choices` are [value, text], `act` gets a value. */
  function picker(label, choices, act) {
    const box = make("label", "", "pick");
    const select = make("select");
    for (const [value, text] of choices) {
      const option = make("option", text);
      option.value = value;
      select.append(option);
    }
    select.addEventListener("change", () => act(select.value));
    box.append(make("span", label), select);
    return { box, select };
  }

  /* A button with a sign above its name. */
  function iconed(sign, name, act) {
    const button = site.button("", act);
    button.append(make("i", sign), make("span", name));
    return button;
  }

  /* An entry of a list of what is set, which takes it back. */
  function chip(text, kind, act) {
    const item = make("li");
    const button = site.button("", act, `chip-${kind}`);
    button.append(make("span", text), make("i", "\u00d7"));
    button.setAttribute("aria-label", `${text}: take back`);
    item.append(button);
    return item;
  }

  /* Which of `findable`, [id, name, kind], the finder of every page finds, in its order: {rows, said},
  or {} when something else has been typed since. */
  async function found(findable, field) {
    const typed = field.value;
    const known = new Map(findable.map((one) => [one[0], one]));
    let answer;
    try {
      answer = await site.find(typed, (id) => known.has(id));
    } catch (error) {
      answer = { rows: [], said: "The list of names could not be read." };
    }
    if (field.value !== typed) return {};
    const rows = [...new Set(answer.rows.map(site.find.id))].map((id) => known.get(id));
    return { rows, said: answer.said || (rows.length ? "" : "No match.") };
  }

  /* On a phone the answer may be out of view: a bar at the bottom says it then, and leads to it.
  {element, say}: `say(text, head, note)` for the element `head` of the answer, or `say("")`. */
  function answerBar(answer) {
    const element = site.button("", () => {
      answer.scrollIntoView();
      answer.focus({ preventScroll: true });
    }, "answer-bar");
    answer.tabIndex = -1;
    const way = make("i");
    const seen = new IntersectionObserver((entries) => {
      const { intersectionRatio, boundingClientRect } = entries[entries.length - 1];
      element.classList.toggle("in-view", intersectionRatio > 0.6);
      way.textContent = boundingClientRect.top < 0 ? "\u2191" : "\u2193";
    }, { threshold: [0, 0.3, 0.6, 0.9], rootMargin: "-48px 0px" });
    const say = (text, head, note) => {
      seen.disconnect();
      element.hidden = !text;
      if (!text) return;
      const said = make("b", text);
      if (note) said.prepend(make("small", note));
      element.replaceChildren(said, way);
      seen.observe(head);
    };
    return { element, say };
  }

  /* The box of the drawing: {picture, pan, art}. */
  function drawn(live, label) {
    const picture = make("figure", "", "picture wide board-picture");
    const pan = make("div", "", "pan");
    pan.setAttribute("role", "region");
    pan.setAttribute("aria-label", label);
    picture.append(pan, make("figcaption"));
    const art = drawing.make(live);
    pan.append(art.svg);
    return { picture, pan, art };
  }

  /* What an address holds: {condition, field, unknown}. The condition is that of `c=`, or of the view
  of the page that led here, or the last that was chosen; `field(name)` the entries of a list; `unknown` what does not exist. */
  function address(net, text) {
    const unknown = [];
    const view = /^view-(\d+)$/.exec(text);
    const last = net.conditions.find((one) => one.name === site.remembered(site.PLACE));
    const first = view && net.conditions[view[1]] ? net.conditions[view[1]] : last || net.conditions[0];
    let condition = first.id;
    const parts = text.split("&").map((part) => part.split("=")).filter((p) => p.length === 2);
    const field = (name) =>
      parts.filter(([of]) => of === name).flatMap(([, values]) => values.split(",")).filter(Boolean);
    for (const id of field("c")) {
      if (net.condition.has(id)) condition = id;
      else unknown.push(id);
    }
    return { condition, field, unknown };
  }

  /* The chosen condition is that of the pages read next. */
  function conditionChosen(net, id, act) {
    site.remembered(site.PLACE, net.conditions[net.condition.get(id)].name);
    act();
  }

  const notHere = (unknown) => (unknown.length
    ? `Not on this airframe, and left out: ${unknown.join(", ")}. The link may be of another revision.`
    : "");

  /* What can hurt someone at any of these, a paragraph each. */
  const hazards = (names, ids) => ids.filter((id) => airframe.hazards[id])
    .map((id) => make("p", `Hazard: ${names.get(id)}: ${airframe.hazards[id]}`, "hazard"));

  return { hazards, picker, iconed, chip, answerBar, drawn, found, address, notHere, conditionChosen };
})();
