// Which part of which job is shown: `#/JOB/PART`.

import { get, jobPath, Refused } from "./api.js";
import { faultList, make, say } from "./dom.js";
import { clothView } from "./cloth.js";
import { fileView } from "./file.js";
import { layoutView } from "./layout.js";
import { cutView, printView } from "./paper.js";
import { patternView } from "./pattern.js";
import { buyView, orderView } from "./questions.js";
import { shelfView } from "./shelf.js";

const PARTS = {
  pattern: ["Pattern", patternView], cloth: ["Cloth", clothView], layout: ["Layout", layoutView],
  buy: ["Buy", buyView], order: ["Order", orderView], print: ["Print", printView], cut: ["Cut", cutView], file: ["Job file", fileView],
};

const main = document.getElementById("main");
const nav = document.getElementById("views");
let leave = () => {};

async function show() {
  leave();
  leave = () => {};
  say("");
  const [, id, part] = location.hash.split("/");
  nav.hidden = !id;
  try {
    if (!id) {
      title("");
      leave = await shelfView(main);
      return;
    }
    const chosen = PARTS[part] ? part : "layout";
    const job = { id, ...await get(jobPath(id)) };
    title(job.name);
    nav.replaceChildren(...Object.entries(PARTS).map(([key, [name]]) => make("a",
      { href: `#/${id}/${key}`, "aria-current": key === chosen ? "page" : null }, name)));
    leave = await PARTS[chosen][1](main, job);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    main.replaceChildren(make("p", {}, error.message), ...faultList(error.faults));
  }
}

function title(name) {
  document.getElementById("job-name").textContent = name;
  document.title = name ? `${name} · marker` : "marker";
}

window.addEventListener("hashchange", () => { show().then(() => main.focus()); });
show();
