// Which part of which job is shown: `#/JOB/PART`.

import { get, jobPath, Refused } from "./api.js";
import { faultList, make, say } from "./dom.js";
import { JobEvents } from "./events.js";
import { clothView } from "./cloth.js";
import { fileView } from "./file.js";
import { layoutView } from "./layout.js";
import { orderView } from "./order.js";
import { cutView, printView } from "./paper.js";
import { patternView } from "./pattern.js";
import { buyView } from "./questions.js";
import { shelfView } from "./shelf.js";

const PARTS = {
  pattern: ["Pattern", patternView], cloth: ["Cloth", clothView], layout: ["Layout", layoutView],
  buy: ["Buy", buyView], order: ["Order", orderView], print: ["Print", printView], cut: ["Cut", cutView], file: ["Job file", fileView],
};

const main = document.getElementById("main");
const nav = document.getElementById("views");
let leave = () => {};
let open = { id: null, events: null };
let asked = 0;

function eventsOf(id) {
  if (open.id !== id) {
    open.events?.close();
    open = { id, events: id ? new JobEvents(id) : null };
  }
  return open.events;
}

async function show() {
  const turn = ++asked;
  leave();
  leave = () => {};
  say("");
  const [, id, part] = location.hash.split("/");
  const chosen = !id ? "shelf" : PARTS[part] ? part : "layout";
  nav.hidden = !id;
  delete main.dataset.part;
  const place = make("div");  // a view that is slow to come writes to its own place, not over the next
  main.replaceChildren(place);
  let changed = false, silence = () => {};  // what is changed while a view is on its way is shown, too
  try {
    let end;
    if (!id) {
      eventsOf(null);
      title("");
      end = await shelfView(place);
    } else {
      const events = eventsOf(id);
      silence = events.listen((event) => { changed ||= event.kind === "changed"; });
      await events.begun;
      const job = { id, events, again: show, ...await get(jobPath(id)) };
      if (turn !== asked) return;
      title(job.name);
      nav.replaceChildren(...Object.entries(PARTS).map(([key, [name]]) => make("a",
        { href: `#/${id}/${key}`, "aria-current": key === chosen ? "page" : null }, name)));
      end = await PARTS[chosen][1](place, job);
    }
    if (turn === asked) leave = end;
    else end();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    place.replaceChildren(make("p", {}, error.message), ...faultList(error.faults),
      id ? make("p", {}, make("a", { href: `#/${id}/file` }, "Open the job file"), " to correct it.") : "");
    if (id && chosen !== "file") {
      leave = eventsOf(id).listen((event) => { if (event.kind === "changed" || event.kind === "back") show(); });
    } else if (id) leave = await fileView(place, { id, events: eventsOf(id), again: show });
  } finally {
    silence();
  }
  if (turn !== asked) return;
  if (changed) await show();
  else main.dataset.part = chosen;
}

function title(name) {
  document.getElementById("job-name").textContent = name;
  document.title = name ? `${name} · marker` : "marker";
}

// Whatever is asked for beside: a server that is gone, or that refuses it, is told of.
window.addEventListener("unhandledrejection", (event) => {
  if (!(event.reason instanceof Refused)) return;
  event.preventDefault();
  say(event.reason.message);
});
window.addEventListener("hashchange", () => {
  window.scrollTo(0, 0);
  show().then(() => main.focus({ preventScroll: true }));
});
show();
