// What is taken to the table: drawings and full-size pages to download, and a list to tick off.

import { get, jobPath, post, Refused } from "./api.js";
import { choice, draw, field, make, say } from "./dom.js";
import { bounds, pathOf, viewBox } from "./picture.js";
import { lengthText } from "./units.js";

const FILES = [
  ["diagram.pdf", "Cutting diagram, PDF"], ["diagram.png", "Cutting diagram, as pictures"],
  ["cutting-sheet.pdf", "Cutting sheet, PDF"], ["cutting-sheet.html", "Cutting sheet, one web page"],
  ["layout.dxf", "Layout, DXF"], ["layout.svg", "Layout, SVG"], ["layout.plt", "Layout, for a pen plotter"],
];
const PAPERS = [["a4", "A4"], ["a3", "A3"], ["letter", "Letter"], ["a0", "A0"], ["roll:900mm", "Roll, 90 cm"],
  ["roll:36in", "Roll, 36 in"], ["projector", "Projector"]];

function download(job, kind, name, asked = {}) {
  const query = new URLSearchParams({ kind, ...asked });
  return make("a", { href: `${jobPath(job.id, "file")}?${query}`, download: "" }, name);
}

// Of a job of several cloths: which of them it is about. The layout shows the same one.
function clothChoice(job, desk) {
  if (desk.cloths.length < 2) return "";
  const cloths = choice(desk.cloths, desk.cloth, async (cloth) => {
    try {
      await post(jobPath(job.id, "layout", "cloth"), { cloth });
      await job.again();
      document.querySelector("main select")?.focus();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      cloths.value = desk.cloth;
    }
  });
  return make("div", { class: "row" }, field("Cloth", cloths));
}

function nothingLaid(main, job, desk) {
  main.replaceChildren(clothChoice(job, desk), make("p", {}, `Nothing is laid on ${desk.cloth} yet. `,
    make("a", { href: `#/${job.id}/layout` }, "Lay it first"), "."));
  return () => {};
}

export async function printView(main, job) {
  const desk = await get(jobPath(job.id, "desk"));
  if (!desk.layout) return nothingLaid(main, job, desk);
  const pages = make("div", { "aria-live": "polite" }), files = make("ul", { class: "files" });
  const used = [...new Set(desk.pieces.map((piece) => piece.on).filter(Boolean))];
  let latest = 0;
  const show = async () => {
    const mine = ++latest, wanted = asked();
    pages.replaceChildren(make("p", { class: "quiet" }, "Planning the pages…"));
    files.replaceChildren(...FILES.map(([kind, name]) => make("li", {}, download(job, kind, name, { on: wanted.on }))));
    let shown;
    try {
      shown = pageMap(job, wanted, await get(`${jobPath(job.id, "pages")}?${new URLSearchParams(wanted)}`));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      shown = [make("p", {}, error.message)];
    }
    if (mine === latest) pages.replaceChildren(...shown);
  };
  const ticked = (name) => {
    const box = make("input", { type: "checkbox", onchange: show });
    return [box, make("label", { class: "beside" }, box, name)];
  };
  const papers = choice(PAPERS, "a4", show), remnants = choice(used, used[0], show);
  const [halves, halvesField] = ticked("Halves, to place on the fold");
  const sizes = job.sizes.map((size) => [size, ...ticked(size)]);
  const asked = () => ({ paper: papers.value, halves: halves.checked ? "yes" : "",
    sizes: sizes.filter(([, box]) => box.checked).map(([size]) => size).join(","), on: used.length ? remnants.value : "" });
  main.replaceChildren(clothChoice(job, desk), make("h2", {}, "Full size"), make("div", { class: "row" }, field("Paper", papers),
    used.length > 1 ? field("Remnant", remnants) : "", halvesField),
  sizes.length > 1 ? make("fieldset", { class: "row plain" }, make("legend", {}, "Sizes drawn into one another, each in lines of its own"), sizes.map((each) => each[2])) : "",
  make("p", { class: "quiet" }, `The whole layout is printed, unless you choose halves${sizes.length > 1 ? " or sizes" : ""}: then each piece is printed once.`),
  pages, make("h2", {}, "Drawings and exports"), files,
  make("p", { class: "quiet" }, "Shears, blades and irons cut and burn: take the usual care, and let local rules and trained practice come first."));
  await show();
  return () => {};
}

// Lines by which sizes are told apart, as they are printed: on and off in turn.
const SIZE_LINES = ["", "6 1.5", "2.2 1.3", "8 1.2 1.2 1.2", ".7 1.1", "8 1.2 1.2 1.2 1.2 1.2", "14 3", "4 1.2 .7 1.2 .7 1.2 .7 1.2"];

// The pages as they lie joined, and on them what they carry.
function pageMap(job, asked, plan) {
  const box = bounds(plan.sheets.map((sheet) => sheet.corners_mm)), high = box.high - box.low;
  const printed = plan.sheets.filter((sheet) => sheet.printed);
  const svg = draw("svg", { viewBox: viewBox(box, high / 60), class: "page-map", preserveAspectRatio: "xMinYMin", role: "img", "aria-label": `${plan.pages} pages joined, with the pieces on them` });
  for (const { name, printed: is, corners_mm: [[left, low], [right, top]] } of plan.sheets) {
    const size = Math.min(right - left, top - low) / 6;
    svg.append(draw("rect", { x: left, y: -top, width: right - left, height: top - low, class: is ? "printed" : "left-out" }),
      draw("text", { x: left + size * .4, y: -top + size * 1.2, "font-size": size }, is ? name : "–"));
  }
  for (const { outline_mm: outline, to_fold_mm: fold, size } of plan.pieces) {
    svg.append(draw("path", { class: "printed-piece", d: pathOf(outline), "stroke-dasharray": SIZE_LINES[size] || null }));
    if (fold) svg.append(draw("path", { class: "printed-fold", d: pathOf(fold, false) }));
  }
  return [svg, make("p", {}, `${plan.pages} ${plan.pages === 1 ? "page" : "pages"}${plan.pages > printed.length ? ", the cover counted," : ""} of ${lengthText(plan.page_mm[0])} × ${lengthText(plan.page_mm[1])}`,
    plan.sheets.length > printed.length ? "; pages marked – carry nothing and are left out. " : ". ",
    plan.pieces.some((piece) => piece.to_fold_mm) ? "Place the red edges on the fold. " : "",
    "Print at 100 % and measure the test squares of the first page before you cut. ",
    download(job, "print.pdf", "Download the pages, PDF", asked))];
}

export async function cutView(main, job) {
  const desk = await get(jobPath(job.id, "desk"));
  if (!desk.layout) return nothingLaid(main, job, desk);
  const key = `cut ${job.id} ${desk.layout.length_mm} ${desk.layout.seed}`;
  const done = new Set(JSON.parse(localStorage.getItem(key) ?? "[]"));
  const count = make("strong");
  const list = make("ul", { class: "ticks" }, desk.pieces.map((piece) => {
    const box = make("input", { type: "checkbox", checked: done.has(piece.key) });
    const item = make("li", { class: done.has(piece.key) ? "done" : null },
      make("label", { class: "beside" }, box, `${piece.on ? `${piece.on}: ` : ""}${piece.number}  ${piece.in_full}, ${piece.copy_words}`));
    box.addEventListener("change", () => {
      box.checked ? done.add(piece.key) : done.delete(piece.key);
      item.classList.toggle("done", box.checked);
      localStorage.setItem(key, JSON.stringify([...done]));
      tally();
    });
    return item;
  }));
  const tally = () => { count.textContent = `${done.size} of ${desk.pieces.length} cut`; };
  tally();
  main.replaceChildren(clothChoice(job, desk), make("h2", {}, `Cut from ${desk.cloth}`), make("p", {}, desk.figures.remnants_text ? `All of it comes from ${desk.figures.remnants_text} remnants. ` : `Buy ${desk.figures.buy_text}. `, count),
    list, make("p", { class: "quiet" }, "Blades: guard on when it is put down, fingers away from the line. Local rules and trained practice come first."));
  return () => {};
}
