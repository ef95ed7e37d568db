// What is taken to the table: drawings and full-size pages to download, and a list to tick off.

import { get, jobPath } from "./api.js";
import { choice, draw, field, make } from "./dom.js";
import { lengthText } from "./units.js";

const FILES = [
  ["diagram.pdf", "Cutting diagram, PDF"], ["diagram.png", "Cutting diagram, picture"],
  ["cutting-sheet.pdf", "Cutting sheet, PDF"], ["cutting-sheet.html", "Cutting sheet, one web page"],
  ["layout.dxf", "Layout, DXF"], ["layout.svg", "Layout, SVG"], ["layout.plt", "Layout, for a pen plotter"],
];
const PAPERS = [["a4", "A4"], ["a3", "A3"], ["letter", "Letter"], ["a0", "A0"], ["roll:900mm", "Roll, 90 cm"],
  ["roll:36in", "Roll, 36 in"], ["projector", "Projector"]];

function download(job, kind, name, paper = "") {
  const query = new URLSearchParams({ kind, paper });
  return make("a", { href: `${jobPath(job.id, "file")}?${query}`, download: "" }, name);
}

function nothingLaid(main, job) {
  main.replaceChildren(make("p", {}, "Nothing is laid yet. ", make("a", { href: `#/${job.id}/layout` }, "Lay the job first"), "."));
  return () => {};
}

export async function printView(main, job) {
  const desk = await get(jobPath(job.id, "desk"));
  if (!desk.layout) return nothingLaid(main, job);
  const pages = make("div");
  const show = async (paper) => {
    pages.replaceChildren(make("p", { class: "quiet" }, "Planning the pages…"));
    pages.replaceChildren(...pageMap(job, paper, await get(`${jobPath(job.id, "pages")}?paper=${encodeURIComponent(paper)}`)));
  };
  const papers = choice(PAPERS, "a4", show);
  main.replaceChildren(make("h2", {}, "Full size"), make("div", { class: "row" }, field("Paper", papers)), pages,
    make("h2", {}, "Drawings and exports"), make("ul", { class: "files" }, FILES.map(([kind, name]) => make("li", {}, download(job, kind, name)))),
    make("p", { class: "quiet" }, "Shears, blades and irons cut and burn: take the usual care, and let local rules and trained practice come first."));
  await show("a4");
  return () => {};
}

function pageMap(job, paper, plan) {
  const { columns, rows } = plan;
  const svg = draw("svg", { viewBox: `0 0 ${columns * 30} ${rows * 30}`, class: "page-map", role: "img",
    "aria-label": `${plan.printed.length} pages in ${rows} rows and ${columns} columns` });
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const name = plan.names[row][column], printed = plan.printed.includes(name);
      svg.append(draw("rect", { x: column * 30 + 1, y: row * 30 + 1, width: 28, height: 28, class: printed ? "printed" : "left-out" }),
        draw("text", { x: column * 30 + 15, y: row * 30 + 19, "font-size": 10, "text-anchor": "middle" }, printed ? name : "–"));
    }
  }
  return [svg, make("p", {}, `${plan.pages} pages of ${lengthText(plan.page_mm[0])} × ${lengthText(plan.page_mm[1])}. `,
    "Print at 100 % and measure the test squares of the first page before you cut. ",
    download(job, "print.pdf", "Download the pages, PDF", paper))];
}

export async function cutView(main, job) {
  const desk = await get(jobPath(job.id, "desk"));
  if (!desk.layout) return nothingLaid(main, job);
  const key = `cut ${job.id} ${desk.layout.length_mm} ${desk.layout.seed}`;
  const done = new Set(JSON.parse(localStorage.getItem(key) ?? "[]"));
  const count = make("strong");
  const list = make("ul", { class: "ticks" }, desk.pieces.map((piece) => {
    const box = make("input", { type: "checkbox", checked: done.has(piece.number) });
    const item = make("li", { class: done.has(piece.number) ? "done" : null },
      make("label", { class: "beside" }, box, `${piece.number}  ${piece.name}, size ${piece.size}, ${piece.copy_words}`));
    box.addEventListener("change", () => {
      box.checked ? done.add(piece.number) : done.delete(piece.number);
      item.classList.toggle("done", box.checked);
      localStorage.setItem(key, JSON.stringify([...done]));
      tally();
    });
    return item;
  }));
  const tally = () => { count.textContent = `${done.size} of ${desk.pieces.length} cut`; };
  tally();
  main.replaceChildren(make("h2", {}, `Cut from ${desk.cloth}`), make("p", {}, `Buy ${desk.figures.buy_text}. `, count),
    list, make("p", { class: "quiet" }, "Blades: guard on when it is put down, fingers away from the line. Local rules and trained practice come first."));
  return () => {};
}
