// Drawings and photos, chosen or dropped, and what a person tells of them.

import { choice, field, make } from "./dom.js";

// `beside` : more fields in the first row. `grains` : what may be said where no arrow is drawn.
// `rows` to be shown; `form` with all of it, to be sent; `take` makes an element take what is dropped on it.
export function droppedFields(beside, grains) {
  const files = make("input", { type: "file", multiple: true, accept: ".svg,.dxf,.pdf,.rul,.jpg,.jpeg,.png,.tif,.tiff" });
  const reference = choice([["", "nothing: no photos"], ["a4", "A4 sheet"], ["letter", "letter sheet"], ["10 cm", "10 cm square, for small pieces"], ["marks", "our printed marks"]], "");
  const lines = make("input", { type: "checkbox" });
  const grain = choice(grains, "up");
  const unit = choice([["", "as they say"], "mm", "cm", "in"], "");
  const rows = [make("p", { class: "quiet" },
    "SVG, DXF or PDF: choose them or drop them here. Photos and scans of paper pieces, too: lay the pieces apart on a ground of another colour, with something of known size beside them, and photograph from above."),
  make("div", { class: "row" }, field("Drawings", files), ...beside, field("One unit is", unit)),
  make("div", { class: "row" }, field("In the photos lies", reference), field("Where no arrow is drawn, the grain runs", grain), make("label", { class: "beside" }, lines, "The pieces are drawn, not cut out"))];
  const form = (more) => {
    const filled = new FormData();
    const told = { unit: unit.value, reference: reference.value, lines: lines.checked ? "yes" : "", grain: grain.value, ...more };
    for (const [key, value] of Object.entries(told)) filled.set(key, value);
    for (const file of files.files) filled.append("drawing", file);
    return filled;
  };
  const take = (element) => {
    element.addEventListener("dragover", (event) => event.preventDefault());
    element.addEventListener("drop", (event) => { event.preventDefault(); files.files = event.dataTransfer.files; });
    return element;
  };
  return { rows, form, take };
}
