// Pieces more for the job that is open: a rectangle by its measures, those of a drawing, or one that
// follows from another. What is told is drawn before it is added.

import { post, sendForm, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, faultsByField, field, make, refill, say } from "./dom.js";
import { droppedFields } from "./dropped.js";
import { pieceDrawing, placeOfName } from "./piece.js";
import { lengthText } from "./units.js";

const WAIT_MS = 400;

// `edit(what, body)` and `send(request)` change the job file, and give the refusal where there is one.
// `stand` is told of the job's cloths and its pattern, at first and after each change.
export function addingTools({ job, size, edit, send }) {
  const ways = [["rectangle", "A rectangle, by its measures", rectangle], ["drawing", "From a drawing or photo", drawing],
    ["follower", "A lining or interfacing of a piece", follower]].map(([key, name, made]) => ({ key, name, ...made({ job, size, edit, send }) }));
  const show = (key) => {
    for (const way of ways) way.element.hidden = way.key !== key;
    ways.find((way) => way.key === key).look?.();
  };
  const chosen = make("fieldset", { class: "row plain" }, make("legend", {}, "What is added"), ways.map(({ key, name }, k) => make("label", { class: "beside" },
    make("input", { type: "radio", name: "adding", checked: k === 0, onchange: () => show(key) }), name)));
  show(ways[0].key);
  const element = make("details", { class: "sheet adding" }, make("summary", {}, "Add a piece"), chosen, ways.map((way) => way.element),
    make("p", { class: "quiet" }, "A cloth that is not there yet, such as a lining, is added ", make("a", { href: `#/${job.id}/cloth` }, "under Cloth"), "."));
  return { element, stand: (cloths, pattern) => ways.forEach((way) => way.stand(cloths.map(({ name }) => name), pattern)) };
}

// A form with a picture beside it of what it would add. `told()` is what it says; `ready()`, whether
// it says enough to be drawn; `emptied()` makes it ready for the next piece.
function previewed({ job, size, edit, what, rows, fields, told, ready, emptied }) {
  const shown = make("div", { class: "preview", "aria-live": "polite" }), faults = make("div", { "aria-live": "polite" });
  let waiting = null, latest = 0, before = [];
  const look = async () => {
    const mine = ++latest;
    if (!ready()) {
      shown.replaceChildren();
      return;
    }
    let drawn = [], wrong = [];
    try {
      const { faults: found, pattern } = await post(jobPath(job.id, "pattern", "try"), { what, size: size(), ...told(), name: freeName(before) });
      const [piece] = pattern?.pieces.filter(({ name }) => !before.includes(name)) ?? [];
      if (mine === latest) wrong = faultsByField(found, fields);
      if (piece) drawn = [picture(piece, job.units)];
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      wrong = [make("p", {}, error.message)];
    }
    if (mine !== latest) return;
    shown.replaceChildren(...drawn);
    faults.replaceChildren(...wrong);
  };
  const soon = () => {
    clearTimeout(waiting);
    waiting = setTimeout(look, WAIT_MS);
  };
  const add = async () => {
    clearTimeout(waiting);
    latest += 1;  // what is looked at meanwhile is no news any more
    const refused = await edit(what, told());
    faults.replaceChildren(...(refused ? refusal(refused, fields) : faultsByField([], fields)));
    if (refused) return;
    say(`Added: ${fields.name.value.trim()}. Undo takes it out again.`);
    emptied();
    shown.replaceChildren();
    fields.name.focus();
  };
  const element = make("form", { class: "two", oninput: soon, onchange: soon, onsubmit: (event) => { event.preventDefault(); add(); } },
    make("div", {}, rows, faults, make("button", { class: "first" }, "Add it")), shown);
  return { element, soon, known: (pattern) => { before = pattern.pieces.map(({ name }) => name); } };
}

function refusal(refused, fields) {
  return refused.faults.length ? faultsByField(refused.faults, fields, undefined, true) : [make("p", {}, refused.message)];
}

// For a picture of what may have no name yet.
function freeName(taken) {
  let name = "new piece";
  while (taken.includes(name)) name += "'";
  return name;
}

function picture(piece, units) {
  const span = (axis) => Math.max(...piece.outline_mm.map((point) => point[axis])) - Math.min(...piece.outline_mm.map((point) => point[axis]));
  const size = `${lengthText(span(0), units)} across, ${lengthText(span(1), units)} up as drawn`;
  return make("figure", { class: "sheet piece-sheet" }, pieceDrawing(piece), make("figcaption", {}, make("small", {},
    piece.fold_mm ? `${size}: half of it, its red side on the fold` : size)));
}

// ---- a rectangle

// What is told of a rectangle: `rows` to be shown, the first with `beside`; `fields` by the last word
// of their places in a job file; `told()`, all of it.
export function rectangleFields(units, beside = [], called = "Name") {
  const inches = units === "imperial";
  const text = (width, more = {}) => make("input", { size: width, autocomplete: "off", ...more });
  const fields = { name: text(18, { placeholder: "pocket, band, tie" }), cut: text(4, { value: "1", inputmode: "numeric" }),
    height: text(9, { placeholder: inches ? "8 in" : "20 cm" }), width: text(9, { placeholder: inches ? "7 in" : "18 cm" }), allowance: text(7, { value: inches ? "3/8 in" : "1 cm" }) };
  fields.shape = fields.height;  // what is wrong with both together
  const across = choice([["", "along the grain"], ["yes", "across the cloth"]], ""), fold = make("input", { type: "checkbox" });
  const finished = choice([["yes", "added outside the measures"], ["", "within the measures"]], "yes");
  const rows = [
    make("div", { class: "row" }, field(called, fields.name), field("How many", fields.cut), ...beside),
    make("div", { class: "row" }, field("Length", fields.height), field("Width", fields.width), field("Its length runs", across),
      make("label", { class: "beside" }, fold, "On the fold: half is drawn")),
    make("div", { class: "row" }, field("Seam allowance", fields.allowance), field("The allowance is", finished)),
  ];
  const told = () => ({ name: fields.name.value, cut: fields.cut.value, length: fields.height.value, width: fields.width.value,
    allowance: fields.allowance.value, across: Boolean(across.value), on_fold: fold.checked, finished: Boolean(finished.value) });
  return { rows, fields, told };
}

function rectangle({ job, size, edit }) {
  const cloth = choice([], ""), { rows, fields, told } = rectangleFields(job.units, [field("Cut from", cloth)]);
  const form = previewed({ job, size, edit, what: "rectangle", rows, fields, told: () => ({ ...told(), cloth: cloth.value }),
    ready: () => fields.height.value.trim() && fields.width.value.trim(),
    emptied: () => { for (const key of ["name", "height", "width"]) fields[key].value = ""; fields.cut.value = "1"; } });
  return { element: form.element, look: form.soon, stand: (cloths, pattern) => { refill(cloth, cloths); form.known(pattern); } };
}

// ---- a lining or an interfacing

function follower({ job, size, edit }) {
  const inches = job.units === "imperial";
  const fields = { name: make("input", { size: 18, autocomplete: "off" }), of: choice([], ""), cloth: choice([], ""),
    allowance: make("input", { size: 7, value: inches ? "3/8 in" : "1 cm" }), trim: make("input", { size: 7, value: inches ? "1/4 in" : "7 mm" }) };
  const kind = choice([["lining", "a lining: sewn, with an allowance of its own"], ["interfacing", "an interfacing: smaller all round"]], "lining");
  const allowance = field("Its seam allowance", fields.allowance), trim = field("Smaller by", fields.trim);
  let own = "";
  const named = () => {
    if (fields.name.value === own) fields.name.value = own = fields.of.value ? `${fields.of.value} ${kind.value}` : "";
    allowance.hidden = kind.value !== "lining";
    trim.hidden = kind.value === "lining";
  };
  for (const select of [fields.of, kind]) select.addEventListener("change", named);
  const rows = [
    make("div", { class: "row" }, field("Of the piece", fields.of), field("It is", kind)),
    make("div", { class: "row" }, field("Name", fields.name), field("Cut from", fields.cloth), allowance, trim),
    make("p", { class: "quiet" }, "It follows the piece in every size, with its fold, grain and notches, and is cut as often."),
  ];
  const told = () => ({ name: fields.name.value, of: fields.of.value, as: kind.value, cloth: fields.cloth.value, allowance: fields.allowance.value, trim: fields.trim.value });
  const form = previewed({ job, size, edit, what: "follower", rows, fields, told, ready: () => fields.of.value, emptied: () => { fields.name.value = own; } });
  const stand = (cloths, pattern) => {
    refill(fields.cloth, cloths, cloths.at(-1));
    refill(fields.of, pattern.pieces.filter((piece) => !piece.follows).map(({ name }) => name));
    form.known(pattern);
    named();
    if (!form.element.hidden) form.soon();
  };
  return { element: form.element, look: form.soon, stand };
}

// ---- pieces of a drawing

function drawing({ job, send }) {
  const dropped = droppedFields([], [["up", "up in the photo"], ["right", "to the right in the photo"]]);
  const faults = make("div", { "aria-live": "polite" }), found = make("div", { "aria-live": "polite" });
  let cloths = [], rows = [];
  const told = (refused) => faults.replaceChildren(...(refused.faults.length ? faultList(refused.faults.map((fault) => ({ ...fault, place: atRow(fault) }))) : [make("p", {}, refused.message)]));
  // A fault of a piece is told by its name, and its field marked.
  const atRow = ({ place }) => {
    const [, name, key] = place.match(/\((.*)\), ([\w-]+)/s) ?? [];
    const input = rows.find((row) => row.take.checked && row.name.value.trim() === name)?.[key];
    input?.setAttribute("aria-invalid", "true");
    input?.focus();
    return name ? `${name}, ${input?.closest("label")?.firstChild.textContent ?? key}` : place;
  };
  const clear = () => {
    faults.replaceChildren();
    for (const row of rows) for (const key of ["name", "cut"]) row[key].removeAttribute("aria-invalid");
  };
  const read = async () => {
    clear();
    found.replaceChildren(make("p", { class: "quiet" }, "Reading…"));
    rows = [];
    try {
      const { pieces, lines, photos } = await sendForm(jobPath(job.id, "drawings"), dropped.form({}));
      rows = pieces.map((piece, number) => drawnRow(piece, number, cloths, job.units));
      say(`${pieces.length === 1 ? "One piece was" : `${pieces.length} pieces were`} read: look at ${pieces.length === 1 ? "it" : "them"}, then add ${pieces.length === 1 ? "it" : "them"}.`);
      found.replaceChildren(...photos.map((photo) => make("img", { class: "sheet drawing", alt: "Outlines found in the photo", src: `data:image/jpeg;base64,${photo}` })),
        make("div", { class: "shelf pieces" }, rows.map((row) => row.element)),
        make("details", {}, make("summary", {}, "What was read"), make("pre", { class: "scroll", tabindex: 0 }, lines.join("\n"))),
        button("Add what is ticked", add, { class: "first" }));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      found.replaceChildren();
      say(error.message);
      told(error);
    }
  };
  const add = async () => {
    clear();
    const chosen = rows.filter((row) => row.take.checked).map((row) => row.told());
    const refused = await send((digest) => sendForm(jobPath(job.id, "drawings"), dropped.form({ digest, chosen: JSON.stringify(chosen) })));
    if (refused) {
      told(refused);
      return;
    }
    say(`Added: ${chosen.map(({ name }) => name.trim()).join(", ")}. Undo takes ${chosen.length === 1 ? "it" : "them"} out again.`);
    found.replaceChildren();
  };
  const element = dropped.take(make("div", {}, dropped.rows, button("Read them", read), faults, found));
  return { element, stand: (names) => { cloths = names; for (const row of rows) refill(row.cloth, names); } };
}

// A piece that was read, with what a person may say of it.
function drawnRow(piece, number, cloths, units) {
  const take = make("input", { type: "checkbox", checked: true }), pair = make("input", { type: "checkbox", checked: piece.pair });
  const name = make("input", { size: 16, value: piece.name, autocomplete: "off" }), cut = make("input", { size: 4, value: piece.cut, inputmode: "numeric" });
  const cloth = choice(cloths, cloths[0]);
  const fold = choice(piece.fold_mm ? [["", "as drawn"]] : [["", "no"], ...piece.edges.map((edge) => [edge.name, `edge ${edge.name}, ${lengthText(edge.length_mm, units)}`])], "");
  const told = () => ({ number, name: name.value, cut: cut.value, pair: pair.checked, cloth: cloth.value, fold: fold.value });
  const element = make("figure", { class: "sheet piece-sheet" }, pieceDrawing(piece, (span) => edgeNames(piece, span)), make("figcaption", {},
    make("label", { class: "beside" }, take, "Add this piece"),
    make("div", { class: "row" }, field("Name", name), field("How many", cut)),
    piece.name === piece.was ? "" : make("p", { class: "quiet" }, `The job has a “${piece.was}” already.`),
    make("div", { class: "row" }, field("Cut from", cloth), field("On the fold", fold)),
    make("label", { class: "beside" }, pair, "Half of them mirrored")));
  return { element, take, name, cut, cloth, told };
}

function edgeNames(piece, span) {
  const taken = [];
  return piece.edges.map((edge) => {
    const [x, y] = placeOfName(edge, piece, span, taken);
    return draw("text", { x, y: -y + span / 75, "font-size": span / 26, "text-anchor": "middle" }, edge.name);
  });
}
