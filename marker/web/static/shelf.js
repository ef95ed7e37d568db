// The jobs of the folder, each with the picture of its stored layout.

import { get, jobPath } from "./api.js";
import { faultList, make } from "./dom.js";
import { smallLayout } from "./picture.js";

export async function shelfView(main) {
  const jobs = await get("/api/jobs");
  const list = make("ul", { class: "shelf" });
  main.replaceChildren(make("h2", {}, "Jobs in this folder"), list);
  if (!jobs.length) {
    list.replaceWith(make("p", {}, "No job yet. In a terminal, ", make("code", {}, "marker new summer-skirt"),
      " makes one here."));
  }
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
  const layout = await get(jobPath(job.id, "layout"));
  picture.replaceChildren(smallLayout(layout));
}
