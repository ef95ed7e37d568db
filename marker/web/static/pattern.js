// The pattern: each piece with its edges; two edges chosen are sewn, several make an opening.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, field, make, say, steps, table } from "./dom.js";
import { addingTools } from "./adding.js";
import { changeList, changeTools } from "./change.js";
import { pathOf } from "./picture.js";
import { along, alongCurve, pieceDrawing, placeOfName, reshaped } from "./piece.js";
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
    this.open = new Set();  // pieces of which is said how they are cut
    this.adding = addingTools({ job, size: () => this.size, edit: (what, body) => this.edit(what, body), send: (request) => this.doing(request) });
    main.replaceChildren(this.tools, whatWasRead(job.id), this.adding.element, make("div", { class: "two" }, this.pieces, this.beside));
  }

  async refresh() {
    const stands = await get(jobPath(this.job.id));
    this.digest = stands.digest;
    this.steps.stand(stands);
    this.cloths = stands.cloths.map(({ name }) => name);
    this.pattern = await get(`${jobPath(this.job.id, "pattern")}?size=${encodeURIComponent(this.size)}`);
    ({ findings: this.findings } = await get(`${jobPath(this.job.id, "findings")}?size=${encodeURIComponent(this.size)}`));
    this.show();
  }

  show() {
    const { sizes, pieces } = this.pattern;
    this.sizes.replaceChildren(sizes.length > 1 ? field("Size", choice(sizes, this.size, (size) => { this.size = size; this.refresh(); })) : "");
    const at = Object.entries(document.activeElement?.dataset ?? {}).find(([key]) => ["corner", "edge", "field"].includes(key));
    this.pieces.replaceChildren(...pieces.map((piece) => this.pieceSheet(piece)));
    if (at) this.pieces.querySelector(`[data-${at[0]}="${CSS.escape(at[1])}"]`)?.focus();  // kept at once: a key pressed meanwhile is not lost
    this.adding.stand(this.cloths.map((name) => ({ name })), this.pattern);
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
      this.howCut(piece),
      ...(fixed ? [make("details", { class: "why" }, make("summary", {}, "Why its corners stay"), make("small", {}, fixed.why))] : []),
      button("Take out", () => this.edit("drop", { piece: piece.name }), { "aria-label": `Take out ${piece.name}`, title: "Take this piece out of the job" })));
  }

  // How many are cut, whether half of them are mirrored, and from which cloth.
  howCut(piece) {
    const field_ = (key) => `${piece.name} ${key}`;
    const set = (key, value) => this.edit("piece", { piece: piece.name, key, value });
    const cut = make("input", { size: 4, value: piece.cut, inputmode: "numeric", "data-field": field_("cut"), onchange: () => set("cut", cut.value) });
    const pair = make("input", { type: "checkbox", checked: piece.pair, "data-field": field_("pair"), onchange: () => set("pair", pair.checked) });
    const cloth = choice(this.cloths, piece.cloth, (name) => set("cloth", name));
    cloth.dataset.field = field_("cloth");
    const how = make("details", { class: "why", open: this.open.has(piece.name), ontoggle: () => this.open[how.open ? "add" : "delete"](piece.name) },
      make("summary", {}, "How it is cut"), make("div", { class: "row" }, field("How many", cut), field("Cut from", cloth), make("label", { class: "beside" }, pair, "Half of them mirrored")),
      make("div", { class: "row" }, Object.entries(this.pattern.rectangles[piece.name] ?? {}).map(([key, value]) => {
        const input = make("input", { size: 8, value, "data-field": field_(key), onchange: () => set(key, input.value) });
        return field(key === "width" ? "Across, as drawn" : "Up, as drawn", input);
      })));
    return how;
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
      ...changeList(this.pattern.changes, (what, body) => this.edit(what, body)), ...this.seams(), ...this.openings(), ...this.bands());
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

  // Takes what is named out of the job; what needs it is told.
  takeOut(what, key, name) {
    return button("Take out", () => this.edit(what, { [key]: name }), { class: "slim", "aria-label": `Take out ${name}` });
  }

  seams() {
    const units = this.job.units;
    const rows = this.pattern.seams.flatMap((seam) => seam.sides.map((side, k) => [
      k ? "" : seam.name, side.edges.join(" + "), { number: lengthText(side.length_mm, units) },
      side.off_mm ? make("strong", {}, `${lengthText(Math.abs(side.off_mm), units)} too ${side.off_mm > 0 ? "long" : "short"}`)
        : k ? "meets" : this.takeOut("no-seam", "seam", seam.name)]));
    return [make("h2", {}, "Seams"), rows.length ? table(["seam", "edges", { number: "length" }, ""], rows)
      : make("p", { class: "quiet" }, "None yet.")];
  }

  openings() {
    const rows = this.pattern.openings.map(({ name, edges, length_mm: length }) => [
      name, edges.join(" + "), { number: lengthText(length, this.job.units) }, this.takeOut("no-opening", "opening", name)]);
    return rows.length ? [make("h2", {}, "Openings"), table(["opening", "edges", { number: "length" }, ""], rows)] : [];
  }

  bands() {
    const units = this.job.units;
    const rows = this.pattern.bands.map((band) => [band.name, band.finishes ?? "",
      { number: `${lengthText(band.length_mm, units)} × ${lengthText(band.width_mm, units)}` }, this.takeOut("drop", "piece", band.name)]);
    const drawings = make("div");
    const show = button("Show how they are cut and marked", async () => {
      const { pages } = await get(`${jobPath(this.job.id, "bands")}?size=${encodeURIComponent(this.size)}`);
      drawings.replaceChildren(...pages.map((page, k) => {
        const src = URL.createObjectURL(new Blob([page], { type: "image/svg+xml" })), alt = `Bands of size ${this.size}, page ${k + 1}`;
        return make("a", { href: src, target: "_blank", title: "Open it larger" }, make("img", { class: "sheet drawing", alt, src }));
      }));
    });
    return rows.length ? [make("h2", {}, "Bands and strips"), table(["strip", "finishes", { number: "cut" }, ""], rows), show, drawings] : [];
  }

  faults() {
    return this.findings.length ? [make("h2", {}, "To correct"), ...faultList(this.findings.map((each) => (
      { place: "", problem: each.message, remedy: each.remedy })))] : [];
  }

  edit(what, body = {}) {
    return this.doing((digest) => post(jobPath(this.job.id, "pattern", what), { ...body, digest }));
  }

  // One change after another, each of the file as the one before left it; the refusal of one.
  doing(request) {
    this.last = (this.last ?? Promise.resolve()).then(() => this.change(request));
    return this.last;
  }

  async change(request) {
    try {
      const answer = await request(this.digest);
      this.digest = answer.digest;
      this.chosen = [];
      this.corners = null;
      await this.refresh();
      say(answer.said ?? "");
      return null;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      return error;
    }
  }
}
