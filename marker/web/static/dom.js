// Elements made from names and values; text is always text, never markup.

const SVG = "http://www.w3.org/2000/svg";

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") element.value = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return element;
}

export function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function draw(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

export function button(name, act, attributes = {}) {
  return make("button", { type: "button", onclick: act, ...attributes }, name);
}

export function field(name, control) {
  return make("label", {}, name, control);
}

export function choice(options, chosen, act) {
  const select = make("select", { onchange: () => act?.(select.value) });
  for (const option of options) {
    const [value, text] = Array.isArray(option) ? option : [option, option];
    select.append(make("option", { value, selected: value === chosen }, text));
  }
  return select;
}

// Other options for a choice; what was chosen stays chosen where it can.
export function refill(select, options, otherwise = options[0]) {
  const kept = options.includes(select.value) ? select.value : otherwise;
  select.replaceChildren(...options.map((value) => make("option", { value, selected: value === kept }, value)));
}

export function figures(entries) {
  return make("dl", { class: "figures" }, entries.map(([name, value, note, main]) =>
    make("div", { class: main ? "main" : null }, make("dt", {}, name),
      make("dd", {}, value, note ? make("small", {}, note) : null))));
}

export function table(heads, rows, best = -1) {
  const cell = (kind, text) => {
    const aligned = typeof text?.number !== "undefined", shown = aligned ? text.number : text;
    return make(shown === "" ? "td" : kind, { class: aligned ? "number" : null }, shown);
  };
  return make("table", {},
    make("thead", {}, make("tr", {}, heads.map((head) => cell("th", head)))),
    make("tbody", {}, rows.map((row, k) =>
      make("tr", { class: k === best ? "best" : null }, row.map((text) => cell("td", text))))));
}

export function faultList(faults) {
  return faults.map((fault) => make("div", { class: "fault" },
    fault.place ? make("strong", {}, `${fault.place}: `) : "",
    fault.problem, make("span", { class: "remedy" }, fault.remedy)));
}

// Faults told by the labels of the fields typed in, which are marked. `fields` : each by the last word
// of its place in the job file, "" for a fault of all of it; or as `at` says of a place. The first one
// gets the focus where it is `asked`.
export function faultsByField(faults, fields, at = lastWord, asked = false) {
  for (const input of Object.values(fields)) input.removeAttribute("aria-invalid");
  const told = faultList(faults.map((fault) => {
    const input = fields[at(fault.place)];
    input?.setAttribute("aria-invalid", "true");
    return { ...fault, place: input?.closest("label").firstChild.textContent ?? fault.place };
  }));
  const wrong = asked && Object.values(fields).find((input) => input.getAttribute("aria-invalid"));
  if (wrong) wrong.focus();
  if (wrong) wrong.select?.();
  return told;
}

export function lastWord(place) {
  return place.match(/, (?:\w+\.)*(\w+)$/)?.[1] ?? "";
}

// Undo and Redo of one thing: `buttons`, and `stand` with what it says of itself. The focus goes to
// the other one where the one pressed has nothing more to do.
export function steps(act) {
  const buttons = [["Undo", "undo"], ["Redo", "redo"]].map(([name, what]) => button(name, () => act(what), { disabled: true }));
  const stand = ({ can_undo, can_redo }) => {
    const at = buttons.indexOf(document.activeElement), can = [can_undo, can_redo];
    buttons.forEach((each, k) => { each.disabled = !can[k]; });
    if (at >= 0 && !can[at] && can[1 - at]) buttons[1 - at].focus();
  };
  return { buttons, stand };
}

export function say(text) {
  document.getElementById("said").textContent = text;
}
