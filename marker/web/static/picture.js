// Pictures of cloth and pieces. Data is in mm, x along the cloth, y up; SVG's y runs down.

import { draw } from "./dom.js";

export function pathOf(points, closed = true) {
  if (!points?.length) return "";
  return `M${points.map(([x, y]) => `${round(x)} ${round(-y)}`).join("L")}${closed ? "Z" : ""}`;
}

function round(value) {
  return Math.round(value * 10) / 10;
}

export function bounds(pointLists) {
  const box = { left: Infinity, right: -Infinity, low: Infinity, high: -Infinity };
  for (const points of pointLists) {
    for (const [x, y] of points) {
      box.left = Math.min(box.left, x); box.right = Math.max(box.right, x);
      box.low = Math.min(box.low, y); box.high = Math.max(box.high, y);
    }
  }
  return box;
}

export function viewBox({ left, right, low, high }, margin) {
  return `${left - margin} ${-high - margin} ${right - left + 2 * margin} ${high - low + 2 * margin}`;
}

// A layout in little, for the shelf and for lays: the cloth and its outlines, nothing else.
export function smallLayout({ width_mm: width, length_mm: length, remnants = [], outlines }) {
  const svg = draw("svg", {
    viewBox: viewBox({ left: 0, right: length, low: 0, high: width }, width / 40), "aria-hidden": "true",
  });
  if (!remnants.length) svg.append(draw("rect", { class: "cloth", x: 0, y: -width, width: length, height: width }));
  for (const { rings } of remnants) svg.append(draw("path", { class: "cloth", d: rings.map((ring) => pathOf(ring)).join(""), "fill-rule": "evenodd" }));
  for (const outline of outlines) svg.append(draw("path", { class: "small", d: pathOf(outline) }));
  return svg;
}

// A double or single arrow along a direction, within a piece.
export function grainArrow([x, y], [dx, dy], length, bothEnds) {
  const half = length / 2, head = length / 7;
  const tip = [x + dx * half, y + dy * half], tail = [x - dx * half, y - dy * half];
  const arrow = ([tx, ty], sign) => pathOf([
    [tx, ty],
    [tx - sign * dx * head - dy * head / 3, ty - sign * dy * head + dx * head / 3],
    [tx - sign * dx * head + dy * head / 3, ty - sign * dy * head - dx * head / 3],
  ]);
  return draw("g", {}, draw("path", { class: "grain", d: pathOf([tail, tip], false) }),
    draw("path", { class: "grain-head", d: arrow(tip, 1) }),
    bothEnds ? draw("path", { class: "grain-head", d: arrow(tail, -1) }) : null);
}
