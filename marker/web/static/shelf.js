// The jobs of the folder, each with the picture of its stored layout; and making a new one.

import { get, post, sendForm, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, faultsByField, field, lastWord, make, say } from "./dom.js";
import { rectangleFields } from "./adding.js";
import { droppedFields } from "./dropped.js";
import { bounds, smallLayout } from "./picture.js";

export async function shelfView(main) {
  const jobs = await get("/api/jobs");
  const list = make("ul", { class: "shelf" });
  main.replaceChildren(make("h2", {}, "Jobs in this folder"), list, ...await newJob());
  if (!jobs.length) list.replaceWith(make("p", {}, "No job yet: make one below."));
  for (const job of jobs) {
    const picture = make("div");
    list.append(make("li", {}, make("a", { href: `#/${job.id}/layout` }, picture,
      make("strong", {}, job.name), make("br"), make("small", {}, job.path)),
    ...faultList(job.faults ?? [])));
    showLayout(job, picture);
  }
  return () => {};
}

async function showLayout(job, picture) {
  if (!job.laid) return;
  const shown = await get(jobPath(job.id, "picture"));
  picture.replaceChildren(shown.why_not ? make("p", { class: "quiet" }, shown.why_not) : smallLayout(shown));
}

// ---- a new job

async function newJob() {
  const { garments, sizes } = await get("/api/garments");
  const name = make("input", { size: 22, placeholder: "summer skirt" });
  const go = (faults, part = "pattern") => async (act) => {
    try {
      const { id, report, pictures } = await act();
      if (report) say(report[0]);
      if (pictures?.length) faults.replaceChildren(...checking(id, report, pictures));
      else {
        if (report) sessionStorage.setItem(`read ${id}`, JSON.stringify(report));
        location.hash = `#/${id}/${part}`;
      }
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      const found = error.faults.map((fault) => ({ ...fault, place: fieldOf(fault.place) }));
      say(found[0]?.place ? `${found[0].place}: ${error.message}` : error.message);
      faults.replaceChildren(...faultList(found));
      const wrong = [...document.querySelectorAll("main label")].find((each) => each.firstChild.textContent.toLowerCase() === found[0]?.place.toLowerCase());
      (wrong?.querySelector("input") ?? faults).scrollIntoView({ block: "center" });
      wrong?.querySelector("input")?.focus();
    }
  };
  return [make("h2", {}, "A new job"), make("div", { class: "row" }, field("Name", name)),
    drafting(garments, sizes, name, go), dropping(name, go), measuring(name), writing(name, go)];
}

// A job that begins with a rectangle: things of the house, aprons, bags.
function measuring(name) {
  const cloth = { name: make("input", { size: 14, value: "cotton" }), width: make("input", { size: 9, placeholder: "150 cm" }) };
  const { rows, fields, told } = rectangleFields("metric", [], "Name of the piece"), faults = make("div", { "aria-live": "polite" });
  const every = { job: name, cloth: cloth.name, clothWidth: cloth.width, ...fields };
  const at = (place) => (!place.startsWith("job.toml") ? "job" : !place.includes(": cloth") ? lastWord(place) : lastWord(place) === "width" ? "clothWidth" : "cloth");
  const begin = async () => {
    try {
      const { id } = await post("/api/jobs", { name: name.value, cloth: { name: cloth.name.value, width: cloth.width.value }, rectangle: told() });
      location.hash = `#/${id}/pattern`;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      faults.replaceChildren(...faultsByField(error.faults, every, at, true));
      say(error.message);
    }
  };
  return make("section", {}, make("h3", {}, "From rectangles"), make("p", { class: "quiet" }, "Begin with the largest piece. Others are added on the next page: rectangles, drawings, linings."),
    make("div", { class: "row" }, field("Cloth", cloth.name), field("Its width", cloth.width)), rows, button("Begin with it", begin), faults);
}

function writing(name, go) {
  const faults = make("div", { "aria-live": "polite" });
  return make("section", {}, make("h3", {}, "Written by hand"), make("p", { class: "quiet" },
    "An example with notes in it: pieces by their corners, cloth, seams, a band. Change it to your own pattern under Job file."),
  button("Write the example", () => go(faults, "file")(() => post("/api/jobs", { name: name.value }))), faults);
}

// What was read of drawings that were dropped, and what was taken for want of better: until it is put away.
export function whatWasRead(id) {
  const key = `read ${id}`, lines = JSON.parse(sessionStorage.getItem(key) ?? "[]");
  if (!lines.length) return "";
  const told = make("section", { class: "sheet read" }, make("h2", {}, "What was read"), make("pre", { class: "scroll", tabindex: 0 }, lines.join("\n")),
    button("I have checked it: put it away", () => { sessionStorage.removeItem(key); told.remove(); }));
  return told;
}

// What a person calls the field that the commands call '--waist-to-hip 9'.
function fieldOf(place) {
  return place.replace(/^--([\w-]+).*$/s, (_, name) => name.replaceAll("-", " "));
}

// Each photo with the outlines that were found in it, to be compared with the pieces.
function checking(id, report, pictures) {
  return [make("h3", {}, "Check the outlines"), ...pictures.map((name) => make("img", {
    class: "sheet drawing", alt: `Outlines found in ${name}`, src: `${jobPath(id, "check")}?${new URLSearchParams({ name })}`,
  })), ...report.map((line) => make("div", {}, line)), make("p", {}, make("a", { href: `#/${id}/pattern` }, "They are right: go on to the pattern"))];
}

function drafting(garments, sizes, name, go) {
  const measures = make("div", { class: "row" });
  const inputs = new Map();
  let chosen = garments[0];
  const show = (garment) => {
    chosen = garment;
    inputs.clear();
    const asked = (each, note) => {
      const input = make("input", { size: 9, placeholder: note ?? "", title: each.says });
      inputs.set(each.name, input);
      return field(each.name.replaceAll("-", " "), input);
    };
    const group = (name, fields) => (fields.length ? make("fieldset", { class: "row plain wide" }, make("legend", {}, name), fields) : "");
    measures.replaceChildren(make("p", { class: "quiet wide" }, garment.says),
      group("Measures of the body; those left empty come from the size", garment.measures.map((each) => asked(each, "by size"))),
      group("As it is to be", garment.options.map((each) => asked(each, each.usual ?? "by measures"))));
  };
  const size = choice([["", "by measures"], ...sizes], "38"), several = make("input", { size: 12, placeholder: "36, 38, 40", title: "One garment of each is ordered; Cloth says how many." }), faults = make("div", { "aria-live": "polite" });
  show(chosen);
  const draft = button("Draft it", () => go(faults)(() => post("/api/jobs", {
    name: name.value, garment: chosen.name, size: several.value.trim() ? null : size.value || null, sizes: several.value,
    measures: Object.fromEntries([...inputs].map(([key, input]) => [key, input.value])),
  })), { class: "first" });
  return make("section", {}, make("h3", {}, "From measures"), make("fieldset", { class: "garments" },
    make("legend", {}, "Garment"), garments.map((each, k) => garmentChoice(each, k === 0, show))),
  make("div", { class: "row" }, field("Size", size), field("or several sizes, one of each", several)), measures, draft, faults);
}

// A garment with the outlines of its pieces.
function garmentChoice(garment, first, show) {
  const box = bounds(garment.picture);
  const svg = draw("svg", { "aria-hidden": "true", viewBox: `${box.left - 20} ${box.low - 20} ${box.right - box.left + 40} ${box.high - box.low + 40}` },
    garment.picture.map((outline) => draw("polygon", { class: "small", points: outline.join(" ") })));
  return make("label", { class: "garment" }, svg, make("span", {},
    make("input", { type: "radio", name: "garment", checked: first, onchange: () => show(garment) }), garment.name));
}

function dropping(name, go) {
  const width = make("input", { size: 9, placeholder: "150 cm" });
  const dropped = droppedFields([field("Width of the cloth", width)], [["", "said later, in the job file"], ["up", "up in the photo"], ["right", "to the right in the photo"]]);
  const faults = make("div", { "aria-live": "polite" });
  const send = () => go(faults)(() => sendForm("/api/drawings", dropped.form({ name: name.value, width: width.value })));
  return dropped.take(make("section", {}, make("h3", {}, "From drawings or photos"), dropped.rows, button("Read them", send), faults));
}
