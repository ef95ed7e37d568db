// What takes a while: asked, waited for, shown. Here widths, spreads and remedies compared.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, faultList, field, make, say, table } from "./dom.js";
import { lengthText, percent } from "./units.js";

// A form that starts a question and shows its answer when it comes.
export function asking(main, job, name, form, body, show) {
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
  const names = job.cloths.filter((each) => each.in_use).map((each) => each.name), cloth = choice(names, names[0]);
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
