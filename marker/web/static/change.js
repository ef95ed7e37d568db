// A piece made longer, shorter, wider, narrower or cut at a line, in every size: said, shown, done.

import { post, jobPath, Refused } from "./api.js";
import { button, choice, faultList, field, make } from "./dom.js";
import { exactText } from "./units.js";

const WAYS = [["lengthen", "make it longer"], ["shorten", "make it shorter"], ["widen", "make it wider"], ["narrow", "make it narrower"],
  ["keep above", "keep what is above the line"], ["keep below", "keep what is below the line"], ["keep left", "keep what is left of the line"],
  ["keep right", "keep what is right of the line"], ["split", "cut it in two"]];
const WAIT_MS = 400;

// Where on an edge the line begins: as clicked, else its middle.
function place(edge, clicked, units) {
  return clicked === undefined ? "middle" : exactText(Math.round(clicked / 5) * 5, units);
}

// `chosen` : one edge or two of a piece. `draw(after, before)` draws a piece beside how it was.
export function changeTools({ job, size, pattern, chosen, clicked, draw, edit }) {
  const [{ piece }] = chosen, units = job.units;
  const places = chosen.map(({ edge }) => [edge.name, make("input", { size: 8, value: place(edge, clicked[`${piece.name}.${edge.name}`], units) })]);
  const way = choice(WAYS, "lengthen"), by = make("input", { size: 8, value: units === "imperial" ? "1 in" : "3 cm" });
  const edge = make("input", { size: 8, placeholder: "cut" }), allowance = make("input", { size: 8, placeholder: "as the piece" });
  const hem = make("input", { size: 10, placeholder: "none" }), names = [`${piece.name} upper`, `${piece.name} lower`].map((value) => make("input", { size: 14, value }));
  const sewn = make("input", { type: "checkbox", checked: true });
  const byField = field("by", by), cutFields = [field("Name of the cut edge", edge), field("Its allowance", allowance), field("Its hem", hem)];
  const splitFields = [field("Upper or left part", names[0]), field("Lower or right part", names[1]), make("label", { class: "beside" }, sewn, "Sew them together again")];
  const shown = make("div", { "aria-live": "polite" });
  const said = () => {
    const [kind, part] = way.value.split(" ");
    return { piece: piece.name, way: kind, line: places.map(([name, at]) => `${name} at ${at.value.trim()}`),
      by: kind === "split" ? names.map((each) => each.value) : part ?? by.value.trim(),
      edge: edge.value, allowance: allowance.value, hem: hem.value, sewn: sewn.checked };
  };
  let waiting = null, latest = 0;
  const look = async () => {
    const cut = /keep|split/.test(way.value);
    byField.hidden = cut;
    for (const each of cutFields) each.hidden = !cut;
    for (const each of splitFields) each.hidden = way.value !== "split";
    const mine = ++latest;
    let result;
    try {
      const { faults, pattern: after } = await post(jobPath(job.id, "pattern", "try"), { what: "change", size, ...said() });
      result = after ? effect(pattern, after, draw) : faultList(faults);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      result = [make("p", {}, error.message)];
    }
    if (mine === latest) shown.replaceChildren(...result);
  };
  const soon = () => {
    clearTimeout(waiting);
    waiting = setTimeout(look, WAIT_MS);
  };
  const tools = make("details", { ontoggle: () => { if (tools.open) look(); } }, make("summary", {}, "Longer, shorter, or cut here"),
    make("p", { class: "quiet" }, chosen.length === 2 ? "The line runs through a place on each of the two edges. " : "The line runs square through a place on this edge. ",
      "Above, below, left and right are meant with the grain arrow pointing up. It is done in every size; what is sewn follows."),
    make("div", { class: "row", oninput: soon, onchange: soon }, places.map(([name, at]) => field(`On ${name}, at`, at)), field("There", way), byField, ...cutFields, ...splitFields),
    shown, button("Write this change", () => edit("change", said())));
  return tools;
}

// What a change makes of the pieces, drawn over what they were; and seams that meet no more.
function effect(before, after, draw) {
  const was = new Map(before.pieces.map((piece) => [piece.name, piece]));
  const gone = before.pieces.find((piece) => !after.pieces.some(({ name }) => name === piece.name));
  const changed = after.pieces.filter((piece) => JSON.stringify(was.get(piece.name)?.outline_mm) !== JSON.stringify(piece.outline_mm));
  const met = new Set(before.seams.filter((seam) => seam.meets).map((seam) => seam.name));
  const apart = after.seams.filter((seam) => !seam.meets && met.has(seam.name));
  return [...changed.map((piece) => make("figure", { class: "sheet piece-sheet" }, draw(piece, was.get(piece.name) ?? gone),
    make("figcaption", {}, make("strong", {}, piece.name), make("br"), make("small", {}, "grey: as it is now")))),
  ...(changed.length ? [] : [make("p", {}, "No outline changes.")]),
  ...apart.map((seam) => make("p", {}, make("strong", {}, `Seam ${seam.name} meets no more then. `), seam.findings.join(" ")))];
}

// The changes that the job file has, each to be taken away again.
export function changeList(changes, edit) {
  if (!changes.length) return [];
  return [make("h2", {}, "Changes"), make("ul", {}, changes.map(({ piece, said }, number) => make("li", {}, `${piece}: ${said} `,
    button("Take away", () => edit("no-change", { number }), { "aria-label": `Take away: ${piece}, ${said}` }))))];
}
