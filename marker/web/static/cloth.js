// The cloths of the job: every value is written to the job file; flaws are drawn on the cloth.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, field, make, say } from "./dom.js";
import { pathOf, viewBox } from "./picture.js";
import { lengthText } from "./units.js";

const SHOWN_MM = 2000;

export async function clothView(main, job) {
  const faults = make("div", { "aria-live": "polite" });
  const edit = async (body, what = "cloth") => {
    try {
      say((await post(jobPath(job.id, "pattern", what), body)).said);
      faults.replaceChildren();
      const fresh = { id: job.id, ...await get(jobPath(job.id)) };
      await clothView(main, fresh);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      faults.replaceChildren(...faultList(error.faults));
    }
  };
  main.replaceChildren(make("h2", {}, "Cloths"), faults, ...job.cloths.map((cloth) => clothSheet(cloth, job.units, edit)),
    make("h2", {}, "Garments wanted"), make("div", { class: "row" }, job.sizes.map((size) => {
      const input = make("input", { type: "number", min: 0, max: 2000, size: 4, value: job.order[size] ?? 0 });
      input.addEventListener("change", () => edit({ size, count: Number(input.value) }, "order"));
      return field(`Size ${size}`, input);
    })));
  return () => {};
}

function clothSheet(cloth, units, edit) {
  const text = (name, key, value) => {
    const input = make("input", { size: 9, value });
    input.addEventListener("change", () => edit({ cloth: cloth.name, key, value: input.value }));
    return field(name, input);
  };
  const chosen = (name, key, options, value) => field(name, choice(options, value,
    (picked) => edit({ cloth: cloth.name, key, value: picked })));
  return make("section", {}, make("h3", {}, cloth.name), make("div", { class: "row" },
    text("Width", "width", lengthText(cloth.width_mm, units)), text("Selvage", "selvage", lengthText(cloth.selvage_mm, units)),
    chosen("Nap", "nap", cloth.naps, cloth.nap), chosen("Lies", "spread", cloth.spreads, cloth.spread),
    text("Gap between pieces", "gap", lengthText(cloth.gap_mm, units)),
    text("On hand", "have", cloth.on_hand_mm === null ? "" : lengthText(cloth.on_hand_mm, units))),
  flawDrawing(cloth, edit));
}

// Drag a box on the cloth: that place is not to be used.
function flawDrawing(cloth, edit) {
  const length = cloth.on_hand_mm ?? SHOWN_MM, width = cloth.usable_width_mm;
  const svg = draw("svg", { viewBox: viewBox({ left: 0, right: length, low: 0, high: width }, 20), class: "sheet flaws", role: "img",
    "aria-label": `${cloth.flaws.length} flaws on ${cloth.name}` });
  svg.append(draw("rect", { class: "cloth", x: 0, y: -width, width: length, height: width, "vector-effect": "non-scaling-stroke" }));
  for (const flaw of cloth.flaws) svg.append(draw("path", { class: "ghost nowhere", d: pathOf(flaw) }));
  const box = draw("rect", { class: "ghost" });
  let from = null;
  const at = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [Math.min(Math.max(point.x, 0), length), Math.min(Math.max(-point.y, 0), width)];
  };
  const span = (a, b) => [Math.min(a, b), Math.max(a, b)];
  svg.addEventListener("pointerdown", (event) => { from = at(event); svg.setPointerCapture(event.pointerId); svg.append(box); });
  svg.addEventListener("pointermove", (event) => {
    if (!from) return;
    const to = at(event), [left, right] = span(from[0], to[0]), [low, high] = span(from[1], to[1]);
    for (const [key, value] of Object.entries({ x: left, y: -high, width: right - left, height: high - low })) box.setAttribute(key, value);
  });
  svg.addEventListener("pointerup", (event) => {
    const to = at(event), along = span(from[0], to[0]), across = span(from[1], to[1]);
    from = null;
    box.remove();
    if (along[1] - along[0] > 5 && across[1] - across[0] > 5) {
      edit({ cloth: cloth.name, name: `flaw ${cloth.flaws.length + 1}`, along, across }, "flaw");
    }
  });
  return make("div", {}, make("p", { class: "quiet" }, "Drag a box on the cloth where it is stained or holed."), svg);
}
