// The job file itself, beside what is wrong with it; a save that would leave a fault is refused.

import { get, post, jobPath, Refused } from "./api.js";
import { button, faultList, make, say } from "./dom.js";
import { patternPictures } from "./pattern.js";

const WAIT_MS = 500;

export async function fileView(main, job) {
  const { text } = await get(jobPath(job.id, "text"));
  const area = make("textarea", { class: "file", spellcheck: "false", "aria-label": "Job file", value: text });
  const beside = make("aside", { "aria-live": "polite" });
  const toLine = (line) => {
    if (!line) return;
    const start = area.value.split("\n").slice(0, line - 1).join("\n").length;
    area.focus();
    area.setSelectionRange(start, start + (area.value.split("\n")[line - 1]?.length ?? 0) + 1);
  };
  const shown = (faults) => faults.map((fault, k) => make("div", {},
    faultList([fault])[0], fault.line ? button(`Line ${fault.line}`, () => toLine(fault.line)) : ""));
  const act = (what, body) => async () => {
    try {
      area.value = (await post(jobPath(job.id, "pattern", what), body())).text;
      beside.replaceChildren();
      say("Written to the job file.");
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      beside.replaceChildren(...shown(error.faults));
    }
  };
  const look = async () => {
    const { faults, pattern } = await post(jobPath(job.id, "text", "try"), { text: area.value });
    beside.replaceChildren(...(faults.length ? shown(faults) : patternPictures(pattern)));
  };
  let waiting = null;
  area.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(look, WAIT_MS);
  });
  main.replaceChildren(make("div", { class: "row" },
    button("Save", act("text", () => ({ text: area.value })), { class: "first" }),
    button("Undo", act("undo", () => ({}))), button("Redo", act("redo", () => ({})))),
  make("div", { class: "two" }, area, beside));
  await look();
  return () => clearTimeout(waiting);
}
