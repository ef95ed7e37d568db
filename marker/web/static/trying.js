// What the search is trying, drawn over the layout in a light line. It is no layout: outlines lie
// over one another, it can't be chosen or downloaded, and it is gone when the search ends.

import { get, jobPath } from "./api.js";
import { draw } from "./dom.js";

export class Trying {
  constructor(job, place) {
    this.job = job;
    this.place = place;
    this.shapes = { of: 0, lines: [] };
    this.path = draw("path", { class: "trying" });
    this.svg = draw("svg", { class: "over", "aria-hidden": "true" }, this.path);
    this.asking = false;
    this.still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  }

  // An event of the search: where each outline stands now.
  async show(event, viewBox) {
    if (this.still || document.hidden) return;
    this.over = false;
    if (event.of !== this.shapes.of && !await this.learn()) return;
    if (this.over || event.of !== this.shapes.of || event.at.some(([, , shape]) => shape >= this.shapes.lines.length)) return;
    this.svg.setAttribute("viewBox", viewBox);
    this.path.setAttribute("d", event.at.map(([x, y, shape]) => `M${x} ${-y}${this.shapes.lines[shape]}`).join(""));
    if (!this.svg.isConnected) this.place.append(this.svg);
  }

  // The outlines that the events speak of, each as a line from the corner of its box.
  async learn() {
    if (this.asking) return false;
    this.asking = true;
    try {
      const { of, outlines } = await get(jobPath(this.job.id, "trying"));
      this.shapes = { of, lines: outlines.map(relative) };
      return true;
    } finally {
      this.asking = false;
    }
  }

  end() {
    this.over = true;  // also for outlines that are still on their way
    this.svg.remove();
  }
}

function relative(points) {
  let at = [0, 0];
  const steps = points.map(([x, y]) => {
    const step = `${(x - at[0]).toFixed(1)} ${(at[1] - y).toFixed(1)}`;
    at = [x, y];
    return step;
  });
  return `m${steps.join("l")}z`;
}
