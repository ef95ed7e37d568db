// The cloths of the job: every value is written to the job file; flaws are drawn on the cloth.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, faultsByField, field, make, say, steps } from "./dom.js";
import { pathOf, viewBox } from "./picture.js";
import { exactText, sizeText } from "./units.js";

const SHOWN_MM = 2000;

export async function clothView(main, job) {
  const faults = make("div", { "aria-live": "polite" });
  const sheets = make("div");
  let shown = job;
  const undoing = steps((what) => edit({}, what));
  const show = (fresh) => {
    const focused = document.activeElement?.dataset.key, of = document.activeElement?.closest("section")?.dataset.cloth;
    shown = fresh;
    undoing.stand(fresh);
    sheets.replaceChildren(make("h2", {}, "Garments wanted"), wanted(fresh, edit),
      make("h2", {}, "Cloths"), ...fresh.cloths.map((cloth) => clothSheet(cloth, fresh, edit)));
    if (focused) sheets.querySelector(`${of ? `[data-cloth="${CSS.escape(of)}"] ` : ""}[data-key="${CSS.escape(focused)}"]`)?.focus();
  };
  let last = Promise.resolve();
  const edit = (body, what = "cloth", typed = null) => {
    last = last.then(() => change(body, what, typed));
    return last;
  };
  // Gives the refusal where there is one. `typed` : the field that a person wrote in; what is refused is said of it by its name.
  const change = async (body, what, typed) => {
    try {
      const { said } = await post(jobPath(job.id, "pattern", what), { ...body, digest: shown.digest });
      faults.replaceChildren();
      show(await get(jobPath(job.id)));
      say(said);
      return null;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      typed?.setAttribute("aria-invalid", "true");
      say(typed ? `${typed.closest("label").firstChild.textContent}: ${error.message}` : error.message);
      if (what !== "new-cloth") faults.replaceChildren(...faultList(error.faults));
      return error;
    }
  };
  main.replaceChildren(make("div", { class: "row" }, ...undoing.buttons), faults, sheets, another(job, edit));
  show(job);
  return job.events.listen((event) => {
    if (event.kind === "back") job.again();
    if (event.kind === "changed") job.again().then(() => say("The job file was changed elsewhere: here is what it says now."));
  });
}

function wanted(job, edit) {
  return make("div", { class: "row" }, job.sizes.map((size) => {
    const input = make("input", { type: "number", min: 0, max: 2000, size: 4, value: job.order[size] ?? 0, "data-key": `size ${size}` });
    input.addEventListener("change", () => edit({ size, count: input.validity.badInput ? "?" : input.value }, "order", input));
    return field(sizeText(size), input);
  }));
}

// A cloth more, such as a lining: the rest of it is as is usual, and changed above.
function another(job, edit) {
  const fields = { name: make("input", { size: 18, placeholder: "lining", autocomplete: "off" }), width: make("input", { size: 9, placeholder: job.units === "imperial" ? "54 in" : "140 cm" }),
    nap: choice(job.cloths[0].naps, "either way") };
  fields[""] = fields.name;
  const faults = make("div", { "aria-live": "polite" });
  const add = async () => {
    const [name, width] = [fields.name, fields.width].map((input) => input.value.trim());
    const refused = await edit({ name, width, nap: fields.nap.value }, "new-cloth");
    faults.replaceChildren(...faultsByField(refused?.faults ?? [], fields, undefined, true));
    if (refused) return;
    fields.name.value = fields.width.value = "";
    say(`Added: ${name}. Under Pattern, say which pieces are cut from it.`);
  };
  return make("form", { onsubmit: (event) => { event.preventDefault(); add(); } }, make("h2", {}, "Another cloth"),
    make("p", { class: "quiet" }, "A lining, an interfacing, or a second cloth for some of the pieces."),
    make("div", { class: "row" }, field("Name", fields.name), field("Width", fields.width), field("Nap", fields.nap), make("button", {}, "Add this cloth")), faults);
}

function clothSheet(cloth, { units, cloths }, edit) {
  const length = (name, key, mm) => {
    const input = make("input", { size: 9, value: mm === null || mm === undefined ? "" : exactText(mm, units), "data-key": key });
    input.addEventListener("change", () => edit({ cloth: cloth.name, key, value: input.value }, "cloth", input));
    return field(name, input);
  };
  const chosen = (name, key, options, value) => {
    const select = choice(options, value, (picked) => edit({ cloth: cloth.name, key, value: picked }));
    select.dataset.key = key;
    return field(name, select);
  };
  return make("section", { "data-cloth": cloth.name }, make("div", { class: "heading" }, make("h3", {}, cloth.name),
    cloths.length > 1 ? button("Take out", () => edit({ cloth: cloth.name }, "no-cloth"), { class: "slim", "aria-label": `Take out ${cloth.name}` }) : ""),
  cloth.in_use ? "" : make("p", { class: "quiet" }, "Nothing is cut from it yet. Under Pattern, choose it for a piece that is there or added."), make("div", { class: "row" },
    length("Width", "width", cloth.width_mm), length("Selvage", "selvage", cloth.selvage_mm),
    chosen("Nap", "nap", cloth.naps, cloth.nap), chosen("Lies", "spread", cloth.spreads, cloth.spread)), make("div", { class: "row" },
    length("Repeat along", "repeat.along", cloth.repeat_mm.along), length("Repeat across", "repeat.across", cloth.repeat_mm.across),
    length("Gap between pieces", "gap", cloth.gap_mm), length("Left at each end", "end_allowance", cloth.end_allowance_mm)),
  Object.keys(cloth.repeat_mm).length ? make("p", { class: "quiet" }, "Which places of the pieces must show the same of its pattern is said in the job file, in [[match]]: `marker reference match` tells how.") : "",
  make("div", { class: "row" }, length("On hand", "have", cloth.on_hand_mm), length("Sold in steps of", "sold_by", cloth.sold_by_mm),
    ...price(cloth, units, edit)),
  cloth.remnants.length ? remnants(cloth) : flawDrawing(cloth, edit));
}

function price(cloth, units, edit) {
  const now = cloth.price;
  const amount = make("input", { size: 7, value: now ? now.amount.toFixed(2) : "", "data-key": "price" });
  const per = make("input", { size: 7, value: exactText(now ? now.per_mm : units === "imperial" ? 914.4 : 1000, units), "data-key": "price per" });
  const currency = make("input", { size: 5, value: now ? now.currency : "EUR", "data-key": "price in" });
  const act = (input) => { if (amount.value || now) edit({ cloth: cloth.name, amount: amount.value, per: per.value, currency: currency.value }, "price", input); };
  for (const input of [amount, per, currency]) input.addEventListener("change", () => act(input));
  return [field("Price", amount), field("for", per), field("Currency", currency)];
}

function remnants(cloth) {
  return make("div", {}, make("p", { class: "quiet" }, "All that there is of it are remnants. Their outlines stand in the job file."),
    make("div", { class: "row" }, cloth.remnants.map(({ name, outline }) => {
      const reach = (axis) => Math.max(...outline.map((point) => point[axis]));
      return make("figure", { class: "sheet remnant" }, draw("svg", { role: "img", "aria-label": name,
        viewBox: viewBox({ left: 0, right: reach(0), low: 0, high: reach(1) }, 20) }, draw("path", { class: "cloth", d: pathOf(outline) })),
      make("figcaption", {}, name));
    })));
}

// Drag a box on the cloth: that place is not to be used.
function flawDrawing(cloth, edit) {
  const length = cloth.on_hand_mm ?? SHOWN_MM, width = cloth.usable_width_mm;
  const svg = draw("svg", { viewBox: viewBox({ left: 0, right: length, low: 0, high: width }, 20), class: "sheet flaws", role: "img",
    "aria-label": `${cloth.name} with ${cloth.flaws.length} flaws` });
  svg.append(draw("rect", { class: "cloth", x: 0, y: -width, width: length, height: width }));
  for (const { outline } of cloth.flaws) svg.append(draw("path", { class: "flaw", d: pathOf(outline) }));
  const box = draw("rect", { class: "ghost" });
  const add = (along, across) => edit({ cloth: cloth.name, name: freeName(cloth), along, across }, "flaw");
  let from = null;
  const at = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [Math.min(Math.max(point.x, 0), length), Math.min(Math.max(-point.y, 0), width)];
  };
  svg.addEventListener("pointerdown", (event) => { from = at(event); svg.setPointerCapture(event.pointerId); svg.append(box); });
  svg.addEventListener("pointermove", (event) => {
    if (!from) return;
    const to = at(event), [left, right] = span(from[0], to[0]), [low, high] = span(from[1], to[1]);
    for (const [key, value] of Object.entries({ x: left, y: -high, width: right - left, height: high - low })) box.setAttribute(key, value);
  });
  svg.addEventListener("pointerup", (event) => {
    if (!from) return;
    const to = at(event), along = span(from[0], to[0]), across = span(from[1], to[1]);
    from = null;
    box.remove();
    if (along[1] - along[0] > 5 && across[1] - across[0] > 5) add(along, across);
  });
  const list = make("ul", {}, cloth.flaws.map(({ name }, number) => make("li", {}, `${name} `,
    button("Take away", () => edit({ cloth: cloth.name, number }, "no-flaw"), { "aria-label": `Take ${name} away` }))));
  return make("div", {}, make("p", { class: "quiet" }, "Drag a box on the cloth where it is stained or holed, or give its place:"),
    typedFlaw(add), svg, list);
}

// The same by keyboard: from and to, in centimetres.
function typedFlaw(add) {
  const inputs = ["From the start, cm", "to", "From the near selvage, cm", "to"].map((name) => [name, make("input", { type: "number", min: 0, size: 5 })]);
  return make("div", { class: "row" }, inputs.map(([name, input]) => field(name, input)), button("Mark the flaw", () => {
    const [a, b, c, d] = inputs.map(([, input]) => 10 * Number(input.value));
    add(span(a, b), span(c, d));
  }));
}

function span(a, b) {
  return [Math.min(a, b), Math.max(a, b)];
}

function freeName(cloth) {
  const taken = new Set(cloth.flaws.map(({ name }) => name));
  let number = 1;
  while (taken.has(`flaw ${number}`)) number += 1;
  return `flaw ${number}`;
}
