// The pattern: each piece with its edges; two edges chosen are sewn, several make an opening.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, field, make, say, steps, table } from "./dom.js";
import { changeList, changeTools } from "./change.js";
import { bounds, grainArrow, pathOf, viewBox } from "./picture.js";
import { whatWasRead } from "./shelf.js";
import { exactText, lengthText } from "./units.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

export async function patternView(main, job) {
  const view = new PatternView(main, job);
  await view.refresh();
  return job.events.listen((event) => {
    if (event.kind === "back") job.again();
    if (event.kind === "changed") job.again().then(() => say("The job file was changed elsewhere: here is what it says now."));
  });
}

function typed(name, value, does, act) {
  const input = make("input", { size: 8, value, onkeydown: (event) => { if (event.key === "Enter") act(input.value.trim()); } });
  const short = does.startsWith("Set ") ? "Set" : does;
  return make("div", { class: "row" }, field(name, input), button(short, () => act(input.value.trim()), { "aria-label": does }));
}

// Each piece in little, without anything to choose; for the job file's own view.
export function patternPictures(pattern) {
  return pattern.pieces.map((piece) => make("figure", { class: "sheet piece-sheet" }, pieceDrawing(piece),
    make("figcaption", {}, make("strong", {}, piece.name))));
}

function pieceDrawing(piece, marks = () => [], before = null) {
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
  const angle = piece.grain_deg * Math.PI / 180;
  svg.append(grainArrow([(box.left + box.right) / 2, (box.low + box.high) / 2],
    [Math.cos(angle), Math.sin(angle)], span / 4, true));
  return svg;
}

// A place for an edge's name: beside the middle of its line, on the side of the piece; further along
// where it would touch a notch, a dart or another mark, the grain arrow or a name placed before.
function placeOfName(edge, piece, span, taken) {
  const half = span / 26 * .31 * edge.name.length, high = span / 52;
  const marks = [...piece.notches.map(({ point, inward }) => [0, 1, 2].map((k) => [point[0] + inward[0] * k * span / 80, point[1] + inward[1] * k * span / 80])),
    ...piece.inside_mm.map(({ line }) => line), ...(piece.fold_mm ? [piece.fold_mm] : [])];
  const touches = ([x, y], line) => line.some(([bx, by], k) => {
    const [ax, ay] = line[Math.max(k - 1, 0)], steps = Math.ceil(Math.hypot(bx - ax, by - ay) / high) || 1;
    return Array.from({ length: steps + 1 }, (_, n) => n / steps).some((share) =>
      Math.abs(ax + (bx - ax) * share - x) < half + high / 2 && Math.abs(ay + (by - ay) * share - y) < high * 1.5);
  });
  const clear = ([x, y]) => !marks.some((line) => touches([x, y], line))
    && taken.every((other) => Math.abs(other.x - x) > other.half + half + high / 2 || Math.abs(other.y - y) > 2.2 * high);
  const places = [.5, .4, .6, .3, .7, .2, .8, .12, .88].map((share) => besideLine(edge.line_mm, piece.outline_mm, half, high, share));
  const [x, y] = places.find(clear) ?? places[0];
  taken.push({ x, y, half });
  return [x, y];
}

// The middle of a box of text, half as long and as high as said, that touches the line with a side or a corner.
function besideLine(line, outline, half, high, share) {
  const steps = line.slice(1).map(([x, y], k) => Math.hypot(x - line[k][0], y - line[k][1]));
  let left = steps.reduce((sum, step) => sum + step, 0) * share, k = 0;
  while (k < steps.length - 1 && left > steps[k]) left -= steps[k++];
  const [[ax, ay], [bx, by]] = [line[k], line[k + 1]], step = steps[k] || 1;
  const at = [ax + (bx - ax) * left / step, ay + (by - ay) * left / step];
  const box = bounds([outline]), centre = [(box.left + box.right) / 2, (box.low + box.high) / 2];
  const out = [(ay - by) / step, (bx - ax) / step];
  const side = Math.sign((centre[0] - at[0]) * out[0] + (centre[1] - at[1]) * out[1]) || 1;
  const distance = Math.abs(out[0]) * half + Math.abs(out[1]) * high + high;
  return [at[0] + side * out[0] * distance, at[1] + side * out[1] * distance];
}

// Whether a corner is but one of many along a curve, where no edge ends: it is shown while an edge of
// its piece is chosen.
function alongCurve({ corners_mm: corners, edges, fold_mm: fold }, k, span) {
  const at = (step) => corners[(k + step + corners.length) % corners.length], [x, y] = at(0);
  const apart = ([a, b]) => Math.hypot(a - x, b - y);
  const ends = [...edges.map(({ line_mm: line }) => line), fold ?? []].flatMap((line) => [line[0], line.at(-1)]).filter(Boolean);
  if (apart(at(-1)) > span / 25 || apart(at(1)) > span / 25 || ends.some((end) => apart(end) < .05)) return false;
  const [into, out] = [[at(-1), at(0)], [at(0), at(1)]].map(([[ax, ay], [bx, by]]) => Math.atan2(by - ay, bx - ax));
  return Math.abs(Math.atan2(Math.sin(out - into), Math.cos(out - into))) < Math.PI / 12;
}

// How far along a line a click is, mm.
function along(line, event, svg) {
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
function reshaped({ outline_mm: outline, corners_mm: corners }, number, [right, up]) {
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

class PatternView {
  constructor(main, job) {
    this.job = job;
    this.size = job.size;
    this.chosen = [];
    this.clicked = {};
    this.sizes = make("span", { class: "slot" });
    this.steps = steps((what) => this.edit(what));
    // made once: a button that is replaced while it is pressed is never clicked
    this.tools = make("div", { class: "row" }, this.sizes, ...this.steps.buttons);
    this.pieces = make("div", { class: "shelf pieces" });
    this.beside = make("aside");
    main.replaceChildren(this.tools, whatWasRead(job.id), make("div", { class: "two" }, this.pieces, this.beside));
  }

  async refresh() {
    const stands = await get(jobPath(this.job.id));
    this.digest = stands.digest;
    this.steps.stand(stands);
    this.pattern = await get(`${jobPath(this.job.id, "pattern")}?size=${encodeURIComponent(this.size)}`);
    ({ findings: this.findings } = await get(`${jobPath(this.job.id, "findings")}?size=${encodeURIComponent(this.size)}`));
    this.show();
  }

  show() {
    const { sizes, pieces } = this.pattern;
    this.sizes.replaceChildren(sizes.length > 1 ? field("Size", choice(sizes, this.size, (size) => { this.size = size; this.refresh(); })) : "");
    const { corner, edge } = document.activeElement?.dataset ?? {};  // kept at once: a key pressed meanwhile is not lost
    this.pieces.replaceChildren(...pieces.map((piece) => this.pieceSheet(piece)));
    if (corner || edge) this.pieces.querySelector(corner ? `[data-corner="${CSS.escape(corner)}"]` : `[data-edge="${CSS.escape(edge)}"]`)?.focus();
    this.showBeside();
  }

  pieceSheet(piece) {
    const fixed = this.pattern.fixed_corners[piece.name];
    const taken = [];
    const svg = pieceDrawing(piece, (span) => [
      ...piece.edges.map((edge) => this.edgeGroup(piece, edge, placeOfName(edge, piece, span, taken), span)),
      ...(!fixed || fixed.have_numbers ? piece.corners_mm.map((corner, k) => this.cornerGroup(piece, corner, k + 1, span, fixed)) : []),
    ]);
    svg.classList.toggle("at-work", this.chosen.some((ref) => this.found(ref)?.piece === piece));
    return make("figure", { class: "sheet piece-sheet" }, svg, make("figcaption", {},
      make("strong", {}, piece.name), make("br"),
      make("small", {}, `cut ${piece.cut}${piece.pair ? " as pairs" : ""}${piece.fold_mm ? ", on the fold" : ""} from ${piece.cloth}`), make("br"),
      ...(fixed ? [make("details", { class: "why" }, make("summary", {}, "Why its corners stay"), make("small", {}, fixed.why))] : []),
      button("Take out", () => this.edit("drop", { piece: piece.name }), { "aria-label": `Take out ${piece.name}`, title: "Take this piece out of the job" })));
  }

  cornerGroup(piece, [x, y], number, span, fixed) {
    const at = `${piece.name} ${number}`;
    const act = () => this.chooseCorner(piece.name, number);
    const along = alongCurve(piece, number - 1, span);
    const group = draw("g", {
      class: fixed ? "corner fixed" : "corner", tabindex: 0, role: "button", "data-corner": at, "aria-label": `${piece.name}, corner ${number}`,
      onclick: act,
      onkeydown: (event) => {
        const [right, up] = ARROWS[event.key] ?? [0, 0], step = event.shiftKey ? 10 : 1;
        if (event.key === "Enter" || event.key === " ") act();
        else if ((right || up) && fixed) say(fixed.why);
        else if (right || up) this.moveCorner(piece.name, number, [right * step, up * step], true);
        else return;
        event.preventDefault();
      },
      onpointerdown: (event) => { if (!fixed) this.dragCorner(event, group, piece, number); },
    }, draw("title", {}, fixed ? `corner ${number}. ${fixed.why}` : `corner ${number}: drag it, or press arrow keys`), draw("circle", { cx: x, cy: -y, r: span / (along ? 160 : 70) }),
    draw("circle", { class: "corner-hit", cx: x, cy: -y, r: span / (along ? 160 : 28) }));
    group.classList.toggle("along", along);
    group.classList.toggle("chosen", this.corners?.piece === piece.name && this.corners.numbers.includes(number));
    return group;
  }

  // It follows the pointer with the outline, and is moved in the file where it is let go; a mere
  // click chooses it.
  dragCorner(down, group, piece, number) {
    if (down.button) return;
    const svg = group.ownerSVGElement, outline = svg.querySelector(".drawn"), drawn = outline.getAttribute("d");
    const back = svg.getScreenCTM().inverse();
    const moved = (event) => [(event.clientX - down.clientX) * back.a, (event.clientY - down.clientY) * back.d];
    const far = (event) => Math.hypot(event.clientX - down.clientX, event.clientY - down.clientY) > 3;
    const follow = (event) => {
      const [right, low] = far(event) ? moved(event) : [0, 0];
      group.setAttribute("transform", `translate(${right} ${low})`);
      svg.classList.toggle("reshaping", far(event));
      outline.setAttribute("d", pathOf(reshaped(piece, number, [right, -low])) + piece.cutouts_mm.map((hole) => pathOf(hole)).join(""));
    };
    const end = (event) => {
      group.removeEventListener("pointermove", follow);
      for (const kind of ["pointerup", "pointercancel"]) group.removeEventListener(kind, end);
      group.removeAttribute("transform");
      svg.classList.remove("reshaping");
      outline.setAttribute("d", drawn);
      if (event.type !== "pointerup" || !far(event)) return;
      group.addEventListener("click", (click) => click.stopImmediatePropagation(), { capture: true, once: true });
      const [right, low] = moved(event);
      this.moveCorner(piece.name, number, [right, -low].map((mm) => Math.round(mm * 10) / 10));
    };
    group.setPointerCapture(down.pointerId);
    group.addEventListener("pointermove", follow);
    for (const kind of ["pointerup", "pointercancel"]) group.addEventListener(kind, end);
  }

  async moveCorner(piece, corner, by_mm, nudged = false) {
    await this.edit("corner", { piece, corner, by_mm, nudged });
    this.pieces.querySelector(`[data-corner="${CSS.escape(`${piece} ${corner}`)}"]`)?.focus();
  }

  chooseCorner(piece, number) {
    const before = this.corners?.piece === piece ? this.corners.numbers : [];
    this.corners = { piece, numbers: [...before, number].slice(-2) };
    this.chosen = [];
    for (const group of this.pieces.querySelectorAll(".corner")) {
      group.classList.toggle("chosen", this.corners.numbers.some((each) => group.dataset.corner === `${piece} ${each}`));
    }
    this.showBeside();
  }

  edgeGroup(piece, edge, [x, y], span) {
    const ref = `${piece.name}.${edge.name}`;
    const group = draw("g", {
      class: "edge-group", tabindex: 0, role: "button", "data-edge": ref,
      "aria-label": `${ref}, ${lengthText(edge.length_mm, this.job.units)}`,
      "aria-pressed": String(this.chosen.includes(ref)),
      onclick: (event) => { this.clicked[ref] = along(edge.line_mm, event, group.ownerSVGElement); this.choose(ref); },
      onkeydown: (event) => { if (event.key === "Enter" || event.key === " ") { this.choose(ref); event.preventDefault(); } },
    }, draw("title", {}, `${edge.name}: ${lengthText(edge.length_mm, this.job.units)}`),
    draw("path", { class: "edge", d: pathOf(edge.line_mm, false) }),
    draw("path", { class: "edge-hit", d: pathOf(edge.line_mm, false) }),
    draw("text", { x, y: -y + span / 75, "font-size": span / 26, "text-anchor": "middle" }, edge.name));
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
    for (const svg of this.pieces.querySelectorAll("svg")) svg.classList.toggle("at-work", Boolean(svg.querySelector(".edge-group.chosen")));
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
      ...this.cornerTools(), ...this.faults(),
      make("h2", {}, "Edges chosen"),
      ...(chosen.length ? [
        table(["edge", { number: "length" }, { number: "allowance" }], chosen.map(([ref, { edge }]) => [ref,
          { number: lengthText(edge.length_mm, units) },
          { number: edge.hem ? `${edge.hem}, ${lengthText(edge.allowance_mm, units)}` : lengthText(edge.allowance_mm, units) }])),
        ...this.sameLength(chosen),
        ...this.edgeTools(chosen),
        ...this.changeTools(chosen.map(([, found]) => found)),
      ] : [make("p", { class: "quiet" }, "Click edges to choose them. One: its allowance, hem, notches and grain, and the piece longer, shorter or cut there. Two: sew them together. Several: an opening with its band. Click two corners to name the edge between them, or to put it on the fold. Drag a corner to move it; arrow keys move it by 1 mm, with Shift by 10 mm.")]),
      ...changeList(this.pattern.changes, (what, body) => this.edit(what, body)), ...this.seams(), ...this.bands());
  }

  sameLength(chosen) {
    if (chosen.length !== 2) return [];
    const [a, b] = chosen.map(([, { edge }]) => edge.length_mm);
    const apart = Math.abs(a - b);
    return [make("p", {}, apart < .05 ? "They are equally long." : `They differ by ${lengthText(apart, this.job.units)}.`)];
  }

  cornerTools() {
    if (!this.corners) return [];
    const { piece, numbers } = this.corners;
    if (numbers.length < 2) return [make("p", {}, `${piece}, corner ${numbers[0]}: choose the corner where the edge ends.`)];
    const said = `${piece}, from corner ${numbers[0]} to ${numbers[1]} in the order drawn. `;
    return [make("h2", {}, "Stretch chosen"), make("p", {}, said, button("The other way round", () => {
      this.corners.numbers.reverse();
      this.showBeside();
    })),
      typed("Name of the edge", "", "Name it", (name) => this.edit("edge", { piece, corners: numbers, name })),
      button("Put it on the fold", () => this.edit("fold", { piece, corners: numbers }))];
  }

  edgeTools(chosen) {
    const [, { piece, edge }] = chosen[0];
    if (chosen.length === 1) {
      return [
        typed("Allowance", exactText(edge.allowance_mm, this.job.units), "Set the allowance", (text) => this.edit("allowance", { piece: piece.name, edge: edge.name, length: text })),
        typed("Hem", edge.hem ?? "", "Set the hem", (text) => this.edit("hem", { piece: piece.name, edge: edge.name, hem: text })),
        typed("Notch at", "", "Set a notch", (text) => this.edit("notch", { piece: piece.name, edge: edge.name, at: text })),
        typed("Grain, degrees", String(piece.grain_deg), "Set the grain", (text) => this.edit("grain", { piece: piece.name, degrees: Number(text) })),
      ];
    }
    const refs = chosen.map(([each]) => each);
    const band = make("input", { size: 8, placeholder: "12 mm" }), ratio = make("input", { size: 5, value: "0.85" });
    const tools = [make("div", { class: "row" }, field("Finished width of its band", band), field("Ratio", ratio)),
      typed("Name of the opening", "", "Make it an opening", (name) => this.edit("opening", { name, edges: refs, band: band.value.trim(), ratio: Number(ratio.value) }))];
    if (chosen.length === 2) tools.unshift(typed("Name of the seam", edge.name, "Sew them together", (name) => this.edit("seam", { name, sides: refs })));
    return tools;
  }

  changeTools(chosen) {
    if (chosen.length > 2 || chosen.some(({ piece }) => piece !== chosen[0].piece)) return [];
    return [changeTools({ job: this.job, size: this.size, pattern: this.pattern, chosen, clicked: this.clicked,
      draw: (after, before) => pieceDrawing(after, () => [], before), edit: (what, body) => this.edit(what, body) })];
  }

  seams() {
    const units = this.job.units;
    const rows = this.pattern.seams.flatMap((seam) => seam.sides.map((side, k) => [
      k ? "" : seam.name, side.edges.join(" + "), { number: lengthText(side.length_mm, units) },
      side.off_mm ? make("strong", {}, `${lengthText(Math.abs(side.off_mm), units)} too ${side.off_mm > 0 ? "long" : "short"}`) : k ? "meets" : ""]));
    return [make("h2", {}, "Seams"), rows.length ? table(["seam", "edges", { number: "length" }, ""], rows)
      : make("p", { class: "quiet" }, "None yet.")];
  }

  bands() {
    const units = this.job.units;
    const rows = this.pattern.bands.map((band) => [band.name, band.finishes ?? "",
      { number: `${lengthText(band.length_mm, units)} × ${lengthText(band.width_mm, units)}` }]);
    const drawings = make("div");
    const show = button("Show how they are cut and marked", async () => {
      const { pages } = await get(`${jobPath(this.job.id, "bands")}?size=${encodeURIComponent(this.size)}`);
      drawings.replaceChildren(...pages.map((page, k) => {
        const src = URL.createObjectURL(new Blob([page], { type: "image/svg+xml" })), alt = `Bands of size ${this.size}, page ${k + 1}`;
        return make("a", { href: src, target: "_blank", title: "Open it larger" }, make("img", { class: "sheet drawing", alt, src }));
      }));
    });
    return rows.length ? [make("h2", {}, "Bands and strips"), table(["strip", "finishes", { number: "cut" }], rows), show, drawings] : [];
  }

  faults() {
    return this.findings.length ? [make("h2", {}, "To correct"), ...faultList(this.findings.map((each) => (
      { place: "", problem: each.message, remedy: each.remedy })))] : [];
  }

  // One change after another, each of the file as the one before left it.
  edit(what, body = {}) {
    this.last = (this.last ?? Promise.resolve()).then(() => this.change(what, body));
    return this.last;
  }

  async change(what, body) {
    try {
      const answer = await post(jobPath(this.job.id, "pattern", what), { ...body, digest: this.digest });
      this.digest = answer.digest;
      this.chosen = [];
      this.corners = null;
      await this.refresh();
      say(answer.said ?? "");
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
    }
  }
}
