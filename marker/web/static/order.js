// An order: typed or read from a file, planned, and its lays shown.

import { jobPath, Refused, sendForm } from "./api.js";
import { button, choice, faultList, field, make, say, table } from "./dom.js";
import { smallLayout } from "./picture.js";
import { asking } from "./questions.js";
import { lengthText, ONE_SIZE, sizeText } from "./units.js";

export async function orderView(main, job) {
  main.replaceChildren();
  // What was typed here stays until the tab is closed, as long as the job has these sizes and colours.
  const key = `order ${job.id} ${[...job.sizes, ...job.colours].join()}`, typed = JSON.parse(sessionStorage.getItem(key) ?? "{}");
  const colours = typed.colours ?? (job.colours.length ? [...job.colours] : [""]);
  const counts = typed.counts ?? colours.map((_, k) => Object.fromEntries(job.sizes.map((size) => [size, k ? 0 : job.order[size] ?? 0])));
  const grid = make("div", { class: "scroll" });
  const several = () => colours.length > 1;
  const build = () => grid.replaceChildren(table(["colour", ...job.sizes.map((size) => (size === ONE_SIZE ? "garments" : size))], colours.map((colour, k) => [
    make("input", { size: 8, value: colour, "aria-label": `Colour ${k + 1}`, oninput: (event) => { colours[k] = event.target.value; } }),
    ...job.sizes.map((size) => make("input", {
      type: "number", min: 0, max: 100000, size: 4, value: counts[k][size], "aria-label": `${sizeText(size)}${several() ? `, colour ${k + 1}` : ""}`,
      oninput: (event) => { counts[k][size] = event.target.validity.badInput ? "?" : event.target.value || 0; },
    }))])), button("Add a colour", () => {
    if (colours.length === 1 && !colours[0]) colours[0] = "colour 1";
    colours.push(`colour ${colours.length + 1}`);
    counts.push(Object.fromEntries(job.sizes.map((size) => [size, 0])));
    build();
  }));
  build();
  const keep = () => sessionStorage.setItem(key, JSON.stringify({ colours, counts, limits: [garments, plies, seconds, tableLength].map((each) => each.value) }));
  const file = orderFile(job, (read) => {
    colours.splice(0, Infinity, ...read.map(({ colour }) => colour));
    counts.splice(0, Infinity, ...read.map((each) => Object.fromEntries(job.sizes.map((size) => [size, each.counts[size] ?? 0]))));
    build();
    keep();
  });
  const garments = make("input", { type: "number", min: 1, max: 1000, value: typed.limits?.[0] ?? 4, size: 4 });
  const plies = make("input", { type: "number", min: 1, max: 100000, placeholder: "any", value: typed.limits?.[1] ?? "", size: 6 });
  const seconds = make("input", { type: "number", min: 1, max: 600, value: typed.limits?.[2] ?? 30, size: 4 });
  const tableLength = make("input", { size: 6, value: typed.limits?.[3] ?? "" });
  const aim = choice([["cost", "least cost"], ["lays", "fewest lays"], ["plies", "fewest plies"]], "cost");
  const form = [make("h2", {}, "An order"), file, grid,
    make("p", { class: "quiet" }, "Shears cut 1 ply at a time. With none given, a lay is as high as the order asks."), make("div", { class: "row" },
    field("Garments in a marker, at most", garments), field("Plies in a lay, at most", plies), field("Table, if a ply must fit it", tableLength),
    field("Looked for", aim), field("Seconds in all", seconds))];
  const wanted = () => colours.map((colour, k) => [colour, counts[k]]).filter(([, of]) => !job.colours.length || job.sizes.some((size) => Number(of[size]) !== 0));
  const demand = () => wanted().map(([colour, of]) => {
    const sizes = job.sizes.filter((size) => Number(of[size]) !== 0).map((size) => `${size}=${of[size]}`).join(",");
    return colour ? `${colour}: ${sizes}` : sizes;
  });
  main.addEventListener("input", keep);
  return asking(main, job, "Plan", form, {
    what: "order",
    values: () => ({ demand: demand(), max_garments: garments.value, max_plies: plies.value, table: tableLength.value, aim: aim.value, seconds: Number(seconds.value) }),
  }, (answer) => lays(answer, job));
}

// A spreadsheet or CSV of the order: chosen or dropped, it fills the table, to be looked through before anything is planned.
function orderFile(job, fill) {
  const input = make("input", { type: "file", accept: ".csv,.tsv,.txt,.xlsx,.xlsm,.ods",
    onclick: () => { input.value = ""; },  // so that the same file can be chosen again once it is corrected
    onchange: () => take(input.files) });
  const sheet = make("input", { size: 10, placeholder: "the only one", onchange: () => read() });
  const told = make("div", { "aria-live": "polite" });
  let chosen = null;  // as it was when it was chosen: the file may be saved again meanwhile
  const take = async (files) => {
    if (files.length > 1) return say("Drop one file: it holds a row for each colour.");
    if (!files.length) return undefined;
    const [{ name }] = files;
    try {
      chosen = new File([await files[0].arrayBuffer()], name);
    } catch {
      return say(`${name} can't be read. Is it a file, and may you read it?`);
    }
    return read();
  };
  const read = async () => {
    if (!chosen) return;
    const form = new FormData(), mine = chosen;
    form.set("order", mine);
    form.set("sheet", sheet.value);
    let shown;
    try {
      const { colours } = await sendForm(jobPath(job.id, "order"), form);
      const garments = colours.flatMap(({ counts }) => Object.values(counts)).reduce((a, b) => a + b, 0);
      fill(colours);
      shown = [make("p", {}, make("strong", {}, mine.name), ` is read: ${garments} ${garments === 1 ? "garment" : "garments"}${colours.length > 1 ? ` in ${colours.length} colours` : ""}. `,
        "Look through the table, then press Plan.")];
      say(`${mine.name} is read.`);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      shown = [make("p", {}, make("strong", {}, mine.name), " is not taken; the table stays as it was."), ...faultList(error.faults)];
      say(error.message);
    }
    told.replaceChildren(...shown);
  };
  return make("div", {
    ondragover: (event) => event.preventDefault(),
    ondrop: (event) => { event.preventDefault(); take(input.files = event.dataTransfer.files); },
  }, make("p", { class: "quiet" }, "Type it into the table. Or choose or drop a file that fills the table, .csv, .xlsx or .ods: sizes in its first row, a row for each colour."),
  make("div", { class: "row" }, field("File of the order", input), field("Sheet, if several are filled in", sheet)), told);
}

const TABLES = [["plan.csv", "The plan as a table, CSV"], ["to-buy.csv", "What to buy, as a table, CSV"]];

function plies(lay) {
  const of = Object.entries(lay.plies_by_colour ?? {});
  return of.length ? ` (${of.map(([colour, count]) => `${count} ${colour}`).join(", ")})` : "";
}

function lays(answer, job) {
  let marker = 0;
  const fileLink = (name, text) => make("a", { href: `${jobPath(job.id, "file")}?kind=${encodeURIComponent(`order/${name}`)}`, download: "" }, text);
  const names = answer.files.map((file) => file.split("/").pop());
  const cards = answer.cloths.flatMap((cloth, k) => [make("h3", {}, cloth.cloth), make("ul", { class: "shelf" },
    cloth.lays.map((lay, number) => {
      const layout = answer.markers[marker++];
      const garments = Object.entries(lay.garments).map(([size, count]) => `${count} × ${size}`).join(", ");
      const before = answer.cloths.slice(0, k).filter((other) => other.lays.length > number).length;
      const sheet = names.filter((name) => name.endsWith(`lay-${number + 1}.pdf`))[before];
      return make("li", {}, smallLayout({
        width_mm: layout.cloth.usable_width_mm, length_mm: layout.length_mm, outlines: layout.placements.map((each) => each.outline_mm),
      }), make("p", {}, make("strong", {}, `Lay ${number + 1}`), make("br"),
        `${garments}; ${lay.plies} ${lay.plies === 1 ? "ply" : "plies"}${plies(lay)}`, make("br"),
        `marker ${lengthText(layout.length_mm, job.units)}`, make("br"), sheet ? fileLink(sheet, `Sheet of lay ${number + 1}, PDF`) : ""));
    }))]);
  const problems = answer.problems.map((each) => make("p", { class: "fault" }, each));
  const words = make("details", {}, make("summary", {}, "The whole plan in words: lengths, rolls, what is proven"), make("pre", { class: "scroll", tabindex: 0 }, answer.lines.join("\n")));
  const buy = answer.to_buy.length ? [make("h3", {}, "To buy"), make("ul", {}, answer.to_buy.map((line) => make("li", {}, line)))] : [];
  return [...problems, ...buy, ...cards, words, make("ul", { class: "files" }, TABLES.filter(([name]) => names.includes(name)).map(([name, text]) => make("li", {}, fileLink(name, text)))),
  make("details", {}, make("summary", {}, `All files of the order, ${names.length}`), make("ul", { class: "files" },
    names.map((name) => make("li", {}, fileLink(name, name))))),
  make("p", { class: "quiet" }, "Blades cut: guard on when one is put down, fingers away from the line. Local rules and trained practice come first.")];
}
