// The picture of a layout on the table: cloth, pieces, ruler. Data is in mm, y up.

import { draw } from "./dom.js";
import { grainArrow, pathOf, viewBox } from "./picture.js";

export function tableBox(layout) {
  const { length_mm: length, width_mm: width } = layout;
  return viewBox({ left: 0, right: Math.max(length, width / 4), low: 0, high: width }, 2.5 * letter(layout));
}

// Height of letters in mm of cloth: the longer the cloth, the lower its picture, the larger the letters in it.
function letter({ length_mm: length, width_mm: width }) {
  return width / Math.min(45, Math.max(20, 66 * width / length));
}

// As large as the room allows; a long cloth runs on to the side, so that its pieces can be seen.
export function sized(element, layout) {
  const [, , along, across] = tableBox(layout).split(" ").map(Number);
  const shape = (along / across).toFixed(3);
  element.style.aspectRatio = shape;
  element.style.width = `max(min(100%, 68vh * ${shape}), 15rem * ${shape})`;
  return element;
}

// The whole picture; `prepare(piece, group)` makes the group of each piece ready to be used.
export function tablePicture(layout, pieces, units, prepare) {
  const { length_mm: length, width_mm: width } = layout, size = letter(layout);
  const shown = Math.max(length, width / 4);
  const svg = draw("svg", {
    viewBox: tableBox(layout), "data-view": "layout", role: "group",
    "aria-label": `Layout of ${pieces.length} pieces on ${layout.cloth}`,
  });
  if (layout.remnants.length) for (const each of layout.remnants) svg.append(...remnant(each, Math.min(size, 28)));
  else svg.append(draw("rect", { class: "cloth", x: 0, y: -width, width: shown, height: width }));
  for (const outline of layout.flaws) svg.append(draw("path", { class: "flaw", d: pathOf(outline) }));
  for (const line of layout.folds) svg.append(draw("path", { class: "table-fold", d: pathOf(line, false) }));
  ruler(svg, shown, size, units);
  for (const piece of pieces) {
    const group = pieceGroup(piece, width, size);
    prepare(piece, group);
    svg.append(group);
  }
  if (!layout.remnants.length) svg.append(draw("path", { class: "end", d: pathOf([[length, 0], [length, width]], false) }));
  return svg;
}

// One of several remnants on the table, with its name above its left end.
function remnant({ name, rings }, size) {
  const [outline] = rings;
  const left = Math.min(...outline.map(([x]) => x)), top = Math.max(...outline.map(([, y]) => y));
  return [draw("path", { class: "cloth", "data-remnant": name, d: rings.map((ring) => pathOf(ring)).join(""), "fill-rule": "evenodd" }),
    draw("text", { x: left, y: -top - size * .5, "font-size": size }, name)];
}

// In centimetres, or in inches where those lead.
function ruler(svg, length, size, units) {
  const [unit, steps] = units === "imperial" ? [25.4, [4, 12, 36]] : [10, [10, 50, 100]];
  const step = unit * (length > 6000 ? steps[2] : length > 2500 ? steps[1] : steps[0]);
  for (let x = 0; x <= length + 1; x += step) {
    svg.append(draw("path", { class: "ruler", d: `M${x} 0v${size / 2}` }),
      draw("text", { x, y: size * 1.7, "font-size": size, "text-anchor": "middle" }, `${Math.round(x / unit)}`));
  }
}

function pieceGroup(piece, width, letter) {
  const name = `${piece.number} ${piece.name}`;
  const group = draw("g", {
    class: "piece", "data-piece": piece.number, "data-key": piece.key, tabindex: 0, role: "button",
    "aria-label": `${piece.number} ${piece.in_full}, ${piece.copy_words}${piece.pinned ? ", pinned" : ""}`,
  });
  group.classList.toggle("pinned", piece.pinned);
  const holes = piece.cutouts_mm.map((hole) => pathOf(hole)).join("");
  group.append(draw("title", {}, name),
    draw("path", { class: "cut", d: pathOf(piece.outline_mm) + holes, "fill-rule": "evenodd" }),
    draw("path", { class: "sew", d: pathOf(piece.stitching_mm) }));
  if (piece.fold_line_mm) group.append(draw("path", { class: "fold", d: pathOf(piece.fold_line_mm, false) }));
  for (const { point: [x, y], inward: [dx, dy] } of piece.notches) {
    group.append(draw("path", { class: "mark", d: pathOf([[x, y], [x + dx * width / 150, y + dy * width / 150]], false) }));
  }
  const [cx, cy] = piece.label_mm, room = piece.label_room_mm;
  const fits = room / (name.length * .62);  // a name a little smaller says more than a number
  const size = Math.min(letter, room / 2.2, fits > .7 * letter ? fits : Infinity);
  group.append(draw("text", { x: cx, y: -cy + size * .35, "font-size": size, "text-anchor": "middle" },
    fits > .999 * size ? name : `${piece.number}`));
  if (room > width / 12) group.append(grainArrow([cx, cy - size * 1.4], piece.grain.direction, room * .5, piece.grain.either_way));
  if (piece.pinned) group.append(draw("circle", { class: "pin", cx, cy: -cy - size * 1.6, r: size * .45 }));
  return group;
}
