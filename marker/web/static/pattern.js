// The pattern: each piece with its edges; two edges chosen are sewn, several make an opening.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, field, make, say, table } from "./dom.js";
import { bounds, grainArrow, pathOf, viewBox } from "./picture.js";
import { lengthText } from "./units.js";

export async function patternView(main, job) {
  const view = new PatternView(main, job);
  await view.refresh();
  return () => {};
}

class PatternView {
  constructor(main, job) {
    this.job = job;
    this.size = job.size;
    this.chosen = [];
    this.tools = make("div", { class: "row" });
    this.pieces = make("div", { class: "shelf pieces" });
    this.beside = make("aside");
    main.replaceChildren(this.tools, make("div", { class: "two" }, this.pieces, this.beside));
  }

  async refresh() {
    this.pattern = await get(`${jobPath(this.job.id, "pattern")}?size=${encodeURIComponent(this.size)}`);
    ({ findings: this.findings } = await get(`${jobPath(this.job.id, "findings")}?size=${encodeURIComponent(this.size)}`));
    this.show();
  }

  show() {
    const { sizes, pieces } = this.pattern;
    this.tools.replaceChildren(
      sizes.length > 1 ? field("Size", choice(sizes, this.size, (size) => { this.size = size; this.refresh(); })) : "",
      button("Undo", () => this.edit("undo")), button("Redo", () => this.edit("redo")));
    this.pieces.replaceChildren(...pieces.map((piece) => this.pieceSheet(piece)));
    this.showBeside();
  }

  pieceSheet(piece) {
    const box = bounds([piece.outline_mm, ...piece.edges.map((edge) => edge.line_mm)]);
    const span = Math.max(box.right - box.left, box.high - box.low);
    const svg = draw("svg", { viewBox: viewBox(box, span / 12), role: "group", "aria-label": piece.name });
    const holes = piece.cutouts_mm.map((hole) => pathOf(hole)).join("");
    svg.append(draw("path", { class: "drawn", d: pathOf(piece.outline_mm) + holes, "fill-rule": "evenodd" }));
    if (piece.fold_mm) svg.append(draw("path", { class: "fold", d: pathOf(piece.fold_mm, false) }));
    for (const edge of piece.edges) svg.append(this.edgeGroup(piece, edge, span));
    for (const { point: [x, y], inward: [dx, dy] } of piece.notches) {
      svg.append(draw("path", { class: "notch", d: pathOf([[x, y], [x + dx * span / 40, y + dy * span / 40]], false) }));
    }
    const angle = piece.grain_deg * Math.PI / 180;
    svg.append(grainArrow([(box.left + box.right) / 2, (box.low + box.high) / 2],
      [Math.cos(angle), Math.sin(angle)], span / 4, true));
    return make("figure", { class: "sheet piece-sheet" }, svg, make("figcaption", {},
      make("strong", {}, piece.name), make("br"),
      make("small", {}, `cut ${piece.cut}${piece.pair ? " as pairs" : ""}${piece.fold_mm ? ", on the fold" : ""} from ${piece.cloth}`)));
  }

  edgeGroup(piece, edge, span) {
    const ref = `${piece.name}.${edge.name}`;
    const [x, y] = edge.line_mm[Math.floor(edge.line_mm.length / 2)];
    const group = draw("g", {
      class: "edge-group", tabindex: 0, role: "button", "data-edge": ref,
      "aria-label": `${ref}, ${lengthText(edge.length_mm, this.job.units)}`,
      "aria-pressed": String(this.chosen.includes(ref)),
      onclick: () => this.choose(ref),
      onkeydown: (event) => { if (event.key === "Enter" || event.key === " ") { this.choose(ref); event.preventDefault(); } },
    }, draw("title", {}, `${edge.name}: ${lengthText(edge.length_mm, this.job.units)}`),
    draw("path", { class: "edge", d: pathOf(edge.line_mm, false) }),
    draw("path", { class: "edge-hit", d: pathOf(edge.line_mm, false) }),
    draw("text", { x, y: -y, "font-size": span / 26, "text-anchor": "middle" }, edge.name));
    group.classList.toggle("chosen", this.chosen.includes(ref));
    return group;
  }

  choose(ref) {
    this.chosen = this.chosen.includes(ref) ? this.chosen.filter((each) => each !== ref) : [...this.chosen, ref];
    for (const group of this.pieces.querySelectorAll(".edge-group")) {
      const chosen = this.chosen.includes(group.dataset.edge);
      group.classList.toggle("chosen", chosen);
      group.setAttribute("aria-pressed", String(chosen));
    }
    this.showBeside();
  }

  found(ref) {
    for (const piece of this.pattern.pieces) {
      for (const edge of piece.edges) if (`${piece.name}.${edge.name}` === ref) return { piece, edge };
    }
    return null;
  }

  showBeside() {
    const units = this.job.units;
    const chosen = this.chosen.map((ref) => [ref, this.found(ref)]).filter(([, found]) => found);
    this.beside.replaceChildren(
      make("h2", {}, "Edges chosen"),
      ...(chosen.length ? [
        table(["edge", { number: "length" }, { number: "allowance" }], chosen.map(([ref, { edge }]) => [ref,
          { number: lengthText(edge.length_mm, units) },
          { number: edge.hem ? `${edge.hem}, ${lengthText(edge.allowance_mm, units)}` : lengthText(edge.allowance_mm, units) }])),
        ...this.sameLength(chosen),
        ...this.edgeTools(chosen),
      ] : [make("p", { class: "quiet" }, "Click edges to choose them. One: its allowance, hem or notches. Two: sew them together. Several: an opening with its band.")]),
      ...this.seams(), ...this.bands(), ...this.faults());
  }

  sameLength(chosen) {
    if (chosen.length !== 2) return [];
    const [a, b] = chosen.map(([, { edge }]) => edge.length_mm);
    return [make("p", {}, `They differ by ${lengthText(Math.abs(a - b), this.job.units)}.`)];
  }

  edgeTools(chosen) {
    const [ref, { piece, edge }] = chosen[0];
    const typed = (name, value, act) => {
      const input = make("input", { size: 8, value });
      return make("div", { class: "row" }, field(name, input), button("Set", () => act(input.value.trim())));
    };
    if (chosen.length === 1) {
      return [
        typed("Allowance", lengthText(edge.allowance_mm, "metric"), (text) => this.edit("allowance", { piece: piece.name, edge: edge.name, length: text })),
        typed("Hem", edge.hem ?? "", (text) => this.edit("hem", { piece: piece.name, edge: edge.name, hem: text })),
        typed("Notch at", "", (text) => this.edit("notch", { piece: piece.name, edge: edge.name, at: text })),
        typed("Grain, degrees", String(piece.grain_deg), (text) => this.edit("grain", { piece: piece.name, degrees: Number(text) })),
      ];
    }
    const refs = chosen.map(([each]) => each);
    const tools = [typed("Name of the opening", "", (name) => this.edit("opening", { name, edges: refs }))];
    if (chosen.length === 2) tools.unshift(typed("Name of the seam", edge.name, (name) => this.edit("seam", { name, sides: refs })));
    return [make("p", { class: "quiet" }, ref), ...tools];
  }

  seams() {
    const units = this.job.units;
    const rows = this.pattern.seams.flatMap((seam) => seam.sides.map((side, k) => [
      k ? "" : seam.name, side.edges.join(" + "), { number: lengthText(side.length_mm, units) },
      side.off_mm ? `${lengthText(Math.abs(side.off_mm), units)} too ${side.off_mm > 0 ? "long" : "short"}` : k ? "meets" : ""]));
    return [make("h2", {}, "Seams"), rows.length ? table(["seam", "edges", { number: "length" }, ""], rows)
      : make("p", { class: "quiet" }, "None yet.")];
  }

  bands() {
    const units = this.job.units;
    const rows = this.pattern.bands.map((band) => [band.name, band.finishes ?? "",
      { number: `${lengthText(band.length_mm, units)} × ${lengthText(band.width_mm, units)}` }]);
    return rows.length ? [make("h2", {}, "Bands and strips"), table(["strip", "finishes", { number: "cut" }], rows)] : [];
  }

  faults() {
    return this.findings.length ? [make("h2", {}, "To correct"), ...faultList(this.findings.map((each) => (
      { place: "", problem: each.message, remedy: each.remedy })))] : [];
  }

  async edit(what, body = {}) {
    try {
      const answer = await post(jobPath(this.job.id, "pattern", what), body);
      say(answer.said ?? "");
      this.chosen = [];
      await this.refresh();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
    }
  }
}
