// The cloths of the job as its file says; changed there.

import { make, table } from "./dom.js";
import { lengthText } from "./units.js";

export async function clothView(main, job) {
  main.replaceChildren(make("h2", {}, "Cloths"), table(["cloth", { number: "width" }, { number: "usable" }, "nap", "lies", { number: "on hand" }],
    job.cloths.map((cloth) => [cloth.name, { number: lengthText(cloth.width_mm, job.units) }, { number: lengthText(cloth.usable_width_mm, job.units) },
      cloth.nap, cloth.spread, { number: cloth.on_hand_mm === null ? "bought" : lengthText(cloth.on_hand_mm, job.units) }])));
  return () => {};
}
