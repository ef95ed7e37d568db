// The job file itself, beside the faults that it has; each save is checked first.

import { get, post, put, jobPath, Refused } from "./api.js";
import { button, faultList, make, say } from "./dom.js";

const WAIT_MS = 500;

export async function fileView(main, job) {
  const { text, digest } = await get(jobPath(job.id, "text"));
  const area = make("textarea", { class: "file", spellcheck: "false", "aria-label": "Job file", value: text });
  const faults = make("aside", { "aria-live": "polite" });
  const known = { digest };
  const save = button("Save", async () => {
    try {
      known.digest = (await put(jobPath(job.id, "text"), { text: area.value, digest: known.digest })).digest;
      faults.replaceChildren();
      say("Saved.");
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      faults.replaceChildren(...faultList(error.faults));
    }
  }, { class: "first" });
  let waiting = null;
  area.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const { faults: found } = await post(jobPath(job.id, "text", "try"), { text: area.value });
      faults.replaceChildren(...(found.length ? faultList(found) : [make("p", { class: "quiet" }, "No fault.")]));
    }, WAIT_MS);
  });
  main.replaceChildren(make("div", { class: "row" }, save), make("div", { class: "two" }, area, faults));
  return () => clearTimeout(waiting);
}
