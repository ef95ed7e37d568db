// Widths compared, and an order planned: asked, waited for, shown.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, faultList, field, make, say, table } from "./dom.js";
import { smallLayout } from "./picture.js";
import { lengthText, percent } from "./units.js";

// A form that starts a question and shows its answer when it comes.
function asking(main, job, name, form, body, show) {
  const result = make("div");
  let waits = false, told = false;  // an answer, a fault or a stage may come before the request has returned
  const ended = (text, ...shown) => {
    waits = start.disabled = false;
    stop.disabled = true;
    say(text);
    result.replaceChildren(...shown);
  };
  const start = button(name, async () => {
    waits = start.disabled = true;
    told = false;
    stop.disabled = false;
    result.replaceChildren(make("p", { class: "quiet" }, "Working on it…"));
    try {
      const { said } = await post(jobPath(job.id, "questions", body.what), body.values());
      if (waits && !told) say(said ?? "");
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      ended(error.message, ...faultList(error.faults));
      await stoppable();
    }
  }, { class: "first" });
  const stop = button("Stop", () => post(jobPath(job.id, "questions", "stop")), { disabled: true });
  // What was begun before, or in another tab, can be stopped from here.
  const stoppable = async () => { stop.disabled = !waits && !(await get(jobPath(job.id, "desk"))).searching; };
  main.append(make("section", {}, ...form, make("div", { class: "row" }, start, stop), result));
  stoppable();
  return job.events.listen((event) => {
    if (event.kind === "stage" && waits) {
      told = true;
      say(event.text);
    }
    if (event.kind === "answer" && event.what === body.what) ended("Done.", ...show(event.answer));
    if (["answer", "failed", "ended"].includes(event.kind) && !waits) stop.disabled = true;
    if (event.kind === "failed" && waits) {
      ended(event.message, ...(event.faults?.length ? faultList(event.faults) : [make("p", {}, event.message)]));
    }
  });
}

export async function buyView(main, job) {
  const widths = make("input", { size: 26, value: "110cm,140cm,150cm" });
  const seconds = make("input", { type: "number", min: 1, max: 3600, value: 45, size: 5 });
  main.replaceChildren(await shopping(job));
  const form = [make("h2", {}, "What to buy in each width"),
    make("p", { class: "quiet" }, "Widths with a comma between them; 140cm=12.50 gives one a price of its own."),
    make("div", { class: "row" }, field("Widths", widths), field("Seconds in all", seconds))];
  const ends = [asking(main, job, "Compare widths", form, {
    what: "widths", values: () => ({ widths: widths.value, seconds: Number(seconds.value) }),
  }, (answer) => offers(answer, job.units)), spreads(main, job), shortage(main, job)];
  return () => ends.forEach((end) => end());
}

// What to buy of each cloth as it lies now, to be taken to the shop.
async function shopping(job) {
  const { cloths, totals } = await get(jobPath(job.id, "bought"));
  const there = make("a", { href: `#/${job.id}/layout` }, "not laid yet");
  const rows = cloths.map(({ cloth, figures }) => [cloth, { number: figures ? figures.buy_text : there.cloneNode(true) },
    figures?.buy_note ?? "", { number: figures?.cost_text ?? "" }]);
  const all = cloths.every(({ figures }) => figures?.cost_text) ? "in all" : "for what is laid and has a price";
  return make("section", {}, make("h2", {}, "What to buy as it is laid"), table(["cloth", { number: "buy" }, "", { number: "cost" }], rows),
    ...Object.entries(totals).map(([currency, cost]) => make("p", {}, make("strong", {}, `${cost.toFixed(2)} ${currency} ${all}`))));
}

function clothAndSeconds(job, seconds) {
  const cloth = choice(job.cloths.map((each) => each.name), job.cloths[0].name);
  const time = make("input", { type: "number", min: 1, max: 3600, value: seconds, size: 5 });
  return { row: [field("Cloth", cloth), field("Seconds in all", time)], values: () => ({ cloth: cloth.value, seconds: Number(time.value) }) };
}

function spreads(main, job) {
  const asked = clothAndSeconds(job, 45);
  const form = [make("h2", {}, "Ways to spread the cloth"), make("div", { class: "row" }, asked.row)];
  return asking(main, job, "Compare spreads", form, { what: "spreads", values: asked.values }, ({ spreads: tried }) => {
    const laid = tried.filter((each) => !each.why_not);
    const best = laid.reduce((a, b) => (b.length_mm < a.length_mm ? b : a));
    return [table(["spread", { number: "cloth" }, { number: "buy" }, { number: "outlines to cut" }, ""], tried.map((each) => [
      each.spread, { number: each.why_not ? "" : lengthText(each.length_mm, job.units) },
      { number: each.why_not ? "" : lengthText(each.buy_mm, job.units) }, { number: each.why_not ? "" : `${each.cuts}` }, each.why_not ?? ""]),
    tried.indexOf(best))];
  });
}

function shortage(main, job) {
  const asked = clothAndSeconds(job, 90);
  const have = make("input", { size: 9, placeholder: "2.3 m" });
  const form = [make("h2", {}, "Not enough cloth?"), make("p", { class: "quiet" }, "Each change that may save cloth is laid by itself. What you take is written to the job file; Undo under Pattern takes it back."),
    make("div", { class: "row" }, asked.row, field("Length there is", have))];
  return asking(main, job, "Look for remedies", form, {
    what: "shortage", values: () => ({ ...asked.values(), have: have.value }),
  }, (answer) => remedies(answer, job));
}

function remedies(answer, job) {
  const take = (trial) => button("Take it", async (event) => {
    const edits = trial.changes.flatMap((change) => answer.edits[change.edit] ?? []);
    try {
      say((await post(jobPath(job.id, "pattern", "remedy"), { edits })).said);
      event.target.disabled = true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
    }
  });
  const standing = (trial) => (trial.reason ? trial.reason : trial.fits ? `fits, ${lengthText(trial.spare_mm, job.units)} to spare`
    : `${lengthText(-trial.spare_mm, job.units)} short`);
  const row = (trial) => [trial.changes.map((change) => change.what).join("; ") || "as it is", standing(trial),
    trial.changes.length && !trial.reason ? take(trial) : ""];
  return [make("p", {}, make("strong", {}, answer.fits ? "This makes it fit:" : "The best that was found does not fit:")),
    table(["if you", "it", ""], [row(answer.best)]), make("p", {}, `As it is, ${standing(answer.as_it_is)}.`),
    table(["if you", "it", ""], answer.changes.map(row))];
}

function offers(answer, units) {
  const row = (each) => [
    { number: lengthText(each.width_mm, units) }, { number: each.buy_text_metric }, { number: lengthText(each.length_mm, units) },
    { number: percent(each.utilisation) }, { number: each.cost === null ? "" : `${each.cost.toFixed(2)} ${each.currency}` },
    { number: `short by ${lengthText(each.short_by_mm, units)}` },
  ];
  const heads = [{ number: "width" }, { number: "buy" }, { number: "layout" }, { number: "cloth used" }, { number: "cost" }, { number: "one step less" }];
  return [
    make("h3", {}, answer.cloth), table(heads, answer.widths.map(row), answer.cheapest),
    ...answer.other_cloths.flatMap((each) => [make("h3", {}, each.cloth), table(heads, [row(each)])]),
    ...answer.left_out.map((each) => make("p", {}, `${lengthText(each.width_mm, units)}: ${each.reason}`)),
    ...Object.entries(answer.totals).map(([currency, cost]) => make("p", {}, make("strong", {}, `${cost.toFixed(2)} ${currency} in all`))),
  ];
}

export async function orderView(main, job) {
  main.replaceChildren();
  // What was typed here stays until the tab is closed, as long as the job has these sizes and colours.
  const key = `order ${job.id} ${[...job.sizes, ...job.colours].join()}`, typed = JSON.parse(sessionStorage.getItem(key) ?? "{}");
  const colours = typed.colours ?? (job.colours.length ? [...job.colours] : [""]);
  const counts = typed.counts ?? colours.map((_, k) => Object.fromEntries(job.sizes.map((size) => [size, k ? 0 : job.order[size] ?? 0])));
  const grid = make("div", { class: "scroll" });
  const several = () => colours.length > 1;
  const build = () => grid.replaceChildren(table(["colour", ...job.sizes], colours.map((colour, k) => [
    make("input", { size: 8, value: colour, "aria-label": `Colour ${k + 1}`, oninput: (event) => { colours[k] = event.target.value; } }),
    ...job.sizes.map((size) => make("input", {
      type: "number", min: 0, max: 100000, size: 4, value: counts[k][size], "aria-label": `Size ${size}${several() ? `, colour ${k + 1}` : ""}`,
      oninput: (event) => { counts[k][size] = event.target.validity.badInput ? "?" : event.target.value || 0; },
    }))])), button("Add a colour", () => {
    if (colours.length === 1 && !colours[0]) colours[0] = "colour 1";
    colours.push(`colour ${colours.length + 1}`);
    counts.push(Object.fromEntries(job.sizes.map((size) => [size, 0])));
    build();
  }));
  build();
  const garments = make("input", { type: "number", min: 1, max: 1000, value: typed.limits?.[0] ?? 4, size: 4 });
  const plies = make("input", { type: "number", min: 1, max: 100000, placeholder: "any", value: typed.limits?.[1] ?? "", size: 6 });
  const seconds = make("input", { type: "number", min: 1, max: 600, value: typed.limits?.[2] ?? 30, size: 4 });
  const tableLength = make("input", { size: 6, value: typed.limits?.[3] ?? "" });
  const aim = choice([["cost", "least cost"], ["lays", "fewest lays"], ["plies", "fewest plies"]], "cost");
  const form = [make("h2", {}, "An order"), grid,
    make("p", { class: "quiet" }, "Shears cut 1 ply at a time. With none given, a lay is as high as the order asks."), make("div", { class: "row" },
    field("Garments in a marker, at most", garments), field("Plies in a lay, at most", plies), field("Table, if a ply must fit it", tableLength),
    field("Looked for", aim), field("Seconds in all", seconds))];
  const wanted = () => colours.map((colour, k) => [colour, counts[k]]).filter(([, of]) => !job.colours.length || job.sizes.some((size) => Number(of[size]) !== 0));
  const demand = () => wanted().map(([colour, of]) => {
    const sizes = job.sizes.filter((size) => Number(of[size]) !== 0).map((size) => `${size}=${of[size]}`).join(",");
    return colour ? `${colour}: ${sizes}` : sizes;
  });
  const keep = () => sessionStorage.setItem(key, JSON.stringify({ colours, counts, limits: [garments, plies, seconds, tableLength].map((each) => each.value) }));
  main.addEventListener("input", keep);
  return asking(main, job, "Plan", form, {
    what: "order",
    values: () => ({ demand: demand(), max_garments: garments.value, max_plies: plies.value, table: tableLength.value, aim: aim.value, seconds: Number(seconds.value) }),
  }, (answer) => lays(answer, job));
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
      const sheet = names.filter((name) => name.endsWith(`lay-${number + 1}.pdf`))[k];
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
