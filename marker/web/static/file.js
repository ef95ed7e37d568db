// The job file itself, beside what is wrong with it; a save that would leave a fault is refused.

import { get, post, jobPath, Refused } from "./api.js";
import { button, faultList, field, make, say, steps } from "./dom.js";
import { patternPictures } from "./piece.js";

const WAIT_MS = 500;

// What each key of a job file means, asked by its name.
function meanings() {
  const about = make("input", { size: 24, list: "keys", placeholder: "piece.fold", autocomplete: "off" });
  const known = make("datalist", { id: "keys" }), text = make("pre", { class: "scroll", tabindex: 0, "aria-live": "polite" });
  const ask = async () => {
    try {
      const { text: said, names } = await get(`/api/reference?${new URLSearchParams({ about: about.value.trim() })}`);
      text.textContent = said;
      if (!known.childElementCount) known.append(...names.map((name) => make("option", { value: name })));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      text.textContent = [error.message, ...error.faults.map((fault) => fault.remedy)].join("\n");
    }
  };
  about.addEventListener("change", ask);
  const open = make("details", { ontoggle: () => { if (open.open) ask(); } }, make("summary", {}, "What a key means"),
    make("div", { class: "row" }, field("Key or topic, such as piece.darts, cloth.nap, derived, sizes", about), button("Tell", ask)), known, text);
  return open;
}

export async function fileView(main, job) {
  const opened = await get(jobPath(job.id, "text"));
  let { text: stored, digest } = opened;
  const area = make("textarea", { class: "file", spellcheck: "false", "aria-label": "Job file", value: stored });
  const beside = make("aside", { "aria-live": "polite" });
  const draft = sessionStorage.getItem(`draft ${job.id}`);
  if (draft !== null) {
    sessionStorage.removeItem(`draft ${job.id}`);
    area.value = draft;
    say("The text that you had not saved is here again. Save writes it; Load it again drops it.");
  }
  const edited = () => area.value !== stored;
  const toLine = (line) => {
    const start = area.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.focus();
    area.setSelectionRange(start, start + (area.value.split("\n")[line - 1]?.length ?? 0));
    area.scrollTop = area.scrollHeight * (line - 3) / area.value.split("\n").length;
  };
  const shown = (faults) => faults.map((fault) => make("div", {},
    faultList([fault])[0], fault.line ? button(`Line ${fault.line}`, () => toLine(fault.line)) : ""));
  const take = (answer) => {
    ({ text: stored, digest } = answer);
    area.value = stored;
    undoing.stand(answer);
  };
  const act = (what, body) => async () => {
    try {
      take(await post(jobPath(job.id, "pattern", what), { ...body(), digest }));
      await look();
      say("Written to the job file.");
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      beside.replaceChildren(...shown(error.faults));
    }
  };
  const undoing = steps((what) => act(what, () => ({}))());
  undoing.stand(opened);
  const load = async () => {
    take(await get(jobPath(job.id, "text")));
    await look();
  };
  const look = async () => {
    try {
      const { faults, pattern } = await post(jobPath(job.id, "text", "try"), { text: area.value });
      beside.replaceChildren(...(faults.length ? shown(faults) : patternPictures(pattern)));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      beside.replaceChildren(make("p", {}, error.message), ...shown(error.faults));
    }
  };
  let waiting = null;
  area.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(look, WAIT_MS);
  });
  const unsaved = (event) => { if (edited()) event.preventDefault(); };
  const keepDraft = () => { if (edited()) sessionStorage.setItem(`draft ${job.id}`, area.value); };  // typed and not saved
  window.addEventListener("beforeunload", unsaved);
  window.addEventListener("pagehide", keepDraft);
  main.replaceChildren(make("div", { class: "row" },
    button("Save", act("text", () => ({ text: area.value })), { class: "first" }),
    ...undoing.buttons, button("Load it again", load)),
  make("div", { class: "two" }, make("div", {}, area, meanings()), beside));
  const silence = job.events.listen(async (event) => {
    if (event.kind !== "back" && (event.kind !== "changed" || event.job === digest)) return;
    if (edited()) say("The job file was changed elsewhere. Your text stays here, unsaved; Load it again shows the other.");
    else await load();
  });
  await look();
  return () => {
    clearTimeout(waiting);
    silence();
    window.removeEventListener("beforeunload", unsaved);
    window.removeEventListener("pagehide", keepDraft);
    keepDraft();
  };
}
