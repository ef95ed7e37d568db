// A piece of the pattern as it is drawn: its outline, marks and names, and how it looks when reshaped.

import { draw, make } from "./dom.js";
import { bounds, grainArrow, pathOf, viewBox } from "./picture.js";

// Each piece in little, without anything to choose; for the job file's own view.
export function patternPictures(pattern) {
  return pattern.pieces.map((piece) => make("figure", { class: "sheet piece-sheet" }, pieceDrawing(piece),
    make("figcaption", {}, make("strong", {}, piece.name))));
}

export function pieceDrawing(piece, marks = () => [], before = null) {
  const box = bounds([piece.outline_mm, ...(before ? [before.outline_mm] : []), ...piece.edges.map((edge) => edge.line_mm)]);
  const span = Math.max(box.right - box.left, box.high - box.low);
  const svg = draw("svg", { viewBox: viewBox(box, span / 12), role: "group", "aria-label": piece.name });
  const holes = piece.cutouts_mm.map((hole) => pathOf(hole)).join("");
  if (before) svg.append(draw("path", { class: "as-was", d: pathOf(before.outline_mm) }));
  svg.append(draw("path", { class: before ? "as-is" : "drawn", d: pathOf(piece.outline_mm) + holes, "fill-rule": "evenodd" }));
  if (piece.fold_mm) svg.append(draw("path", { class: "fold", d: pathOf(piece.fold_mm, false) }));
  svg.append(...marks(span));
  for (const { point: [x, y], inward: [dx, dy] } of piece.notches) {
    svg.append(draw("path", { class: "notch", d: pathOf([[x, y], [x + dx * span / 40, y + dy * span / 40]], false) }));
  }
  for (const { line, name } of piece.inside_mm) {
    const [[x, y]] = line;
    svg.append(draw("g", {}, draw("title", {}, name), line.length > 1
      ? draw("path", { class: "inside", d: pathOf(line, false) })
      : draw("circle", { class: "inside", cx: x, cy: -y, r: span / 120 })));
  }
  const [[ax, ay], [bx, by]] = grainLine(piece, span), along = span / 4;
  svg.append(grainArrow([(ax + bx) / 2, (ay + by) / 2], [(bx - ax) / along, (by - ay) / along], along, true));
  return svg;
}

// Where the grain arrow is drawn, from end to end.
function grainLine({ outline_mm: outline, grain_deg: degrees }, span) {
  const { left, right, low, high } = bounds([outline]), angle = degrees * Math.PI / 180;
  const [dx, dy] = [Math.cos(angle), Math.sin(angle)].map((share) => share * span / 8);
  return [-1, 1].map((way) => [(left + right) / 2 + way * dx, (low + high) / 2 + way * dy]);
}

// A place for an edge's name: beside the middle of its line, on the side of the piece; further along
// where it would touch a notch, a dart or another mark, the grain arrow or a name placed before; and
// beside a piece that is too narrow for it.
export function placeOfName(edge, piece, span, taken) {
  const half = span / 26 * .31 * edge.name.length, high = span / 52;
  const marks = [...piece.notches.map(({ point, inward }) => [0, 1, 2].map((k) => [point[0] + inward[0] * k * span / 80, point[1] + inward[1] * k * span / 80])),
    ...piece.inside_mm.map(({ line }) => line), ...(piece.fold_mm ? [piece.fold_mm] : []), grainLine(piece, span),
    ...piece.edges.filter((other) => other !== edge).map(({ line_mm: line }) => line)];
  const touches = ([x, y], line) => line.some(([bx, by], k) => {
    const [ax, ay] = line[Math.max(k - 1, 0)], steps = Math.ceil(Math.hypot(bx - ax, by - ay) / high) || 1;
    return Array.from({ length: steps + 1 }, (_, n) => n / steps).some((share) =>
      Math.abs(ax + (bx - ax) * share - x) < half + high / 2 && Math.abs(ay + (by - ay) * share - y) < high * 1.5);
  });
  const clear = ([x, y]) => !marks.some((line) => touches([x, y], line))
    && taken.every((other) => Math.abs(other.x - x) > other.half + half + high / 2 || Math.abs(other.y - y) > 2.2 * high);
  const places = [1, -1].flatMap((side) => [.5, .4, .6, .3, .7, .2, .8, .12, .88].map((share) => besideLine(edge.line_mm, piece.outline_mm, half, high, share, side)));
  const [x, y] = places.find(clear) ?? places[0];
  taken.push({ x, y, half });
  return [x, y];
}

// The middle of a box of text, half as long and as high as said, that touches the line with a side or
// a corner; `way` is 1 for the side of the piece, -1 for the other.
function besideLine(line, outline, half, high, share, way) {
  const steps = line.slice(1).map(([x, y], k) => Math.hypot(x - line[k][0], y - line[k][1]));
  let left = steps.reduce((sum, step) => sum + step, 0) * share, k = 0;
  while (k < steps.length - 1 && left > steps[k]) left -= steps[k++];
  const [[ax, ay], [bx, by]] = [line[k], line[k + 1]], step = steps[k] || 1;
  const at = [ax + (bx - ax) * left / step, ay + (by - ay) * left / step];
  const box = bounds([outline]), centre = [(box.left + box.right) / 2, (box.low + box.high) / 2];
  const out = [(ay - by) / step, (bx - ax) / step];
  const side = Math.sign((centre[0] - at[0]) * out[0] + (centre[1] - at[1]) * out[1]) * way || 1;
  const distance = Math.abs(out[0]) * half + Math.abs(out[1]) * high + high;
  return [at[0] + side * out[0] * distance, at[1] + side * out[1] * distance];
}

// Whether a corner is but one of many along a curve, where no edge ends: it is shown while an edge of
// its piece is chosen.
export function alongCurve({ corners_mm: corners, edges, fold_mm: fold }, k, span) {
  const at = (step) => corners[(k + step + corners.length) % corners.length], [x, y] = at(0);
  const apart = ([a, b]) => Math.hypot(a - x, b - y);
  const ends = [...edges.map(({ line_mm: line }) => line), fold ?? []].flatMap((line) => [line[0], line.at(-1)]).filter(Boolean);
  if (apart(at(-1)) > span / 25 || apart(at(1)) > span / 25 || ends.some((end) => apart(end) < .05)) return false;
  const [into, out] = [[at(-1), at(0)], [at(0), at(1)]].map(([[ax, ay], [bx, by]]) => Math.atan2(by - ay, bx - ax));
  return Math.abs(Math.atan2(Math.sin(out - into), Math.cos(out - into))) < Math.PI / 12;
}

// How far along a line a click is, mm.
export function along(line, event, svg) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  let best = [Infinity, 0], before = 0;
  for (let k = 1; k < line.length; k++) {
    const [ax, ay] = line[k - 1], ux = line[k][0] - ax, uy = line[k][1] - ay, size = Math.hypot(ux, uy) || 1;
    const share = Math.min(Math.max(((at.x - ax) * ux + (-at.y - ay) * uy) / (size * size), 0), 1);
    const off = Math.hypot(at.x - ax - share * ux, -at.y - ay - share * uy);
    if (off < best[0]) best = [off, before + share * size];
    before += size;
  }
  return best[1];
}

// An outline with one corner moved: lines to the corners beside it follow, and so do curves, each by
// the weight of the two Bézier points that move with the corner.
export function reshaped({ outline_mm: outline, corners_mm: corners }, number, [right, up]) {
  const nearest = ([x, y]) => outline.reduce((best, [px, py], k) => (
    Math.hypot(px - x, py - y) < Math.hypot(outline[best][0] - x, outline[best][1] - y) ? k : best), 0);
  const stops = new Set(corners.map(nearest)), at = nearest(corners[number - 1]), count = outline.length;
  const moved = outline.map((point) => [...point]);
  const shift = (k, weight) => { moved[k] = [outline[k][0] + right * weight, outline[k][1] + up * weight]; };
  shift(at, 1);
  for (const way of [1, -1]) {
    const stretch = [at];
    do stretch.push((stretch.at(-1) + way + count) % count); while (!stops.has(stretch.at(-1)));
    const gone = [0];
    for (let k = 1; k < stretch.length; k++) {
      const [[ax, ay], [bx, by]] = [outline[stretch[k - 1]], outline[stretch[k]]];
      gone.push(gone.at(-1) + Math.hypot(bx - ax, by - ay));
    }
    for (let k = 1; k < stretch.length - 1; k++) {
      const rest = 1 - gone[k] / gone.at(-1);
      shift(stretch[k], rest * rest * (3 - 2 * rest));
    }
  }
  return moved;
}
