// The layout: watched while it is searched for, and moved by hand afterwards.

import { get, post, jobPath, listen, Refused } from "./api.js";
import { button, choice, draw, faultList, field, figures, make, say } from "./dom.js";
import { pathOf, viewBox, grainArrow } from "./picture.js";
import { lengthText, percent } from "./units.js";

const STEP_MM = 10, FINE_STEP_MM = 1;

export async function layoutView(main, job) {
  const view = new LayoutView(main, job);
  await view.refresh();
  return () => view.close();
}

class LayoutView {
  constructor(main, job) {
    this.job = job;
    this.chosen = new Set();
    this.desk = null;
    this.drag = null;
    this.controls = make("div", { class: "row" });
    this.facts = make("div");
    this.picture = make("div", { class: "sheet table-view" });
    this.beside = make("aside");
    main.replaceChildren(this.controls, this.facts, make("div", { class: "two" }, this.picture, this.beside));
    this.build();
    this.silence = listen(job.id, (event) => this.heard(event));
  }

  close() {
    this.silence();
  }

  path(...rest) {
    return jobPath(this.job.id, ...rest);
  }

  build() {
    this.width = make("input", { size: 7, value: "", placeholder: "as in the job" });
    this.seconds = make("input", { type: "number", min: 1, max: 3600, value: 30, size: 5 });
    this.lay = button("Lay", () => this.ask("lay", {
      seconds: Number(this.seconds.value), width: this.width.value.trim() || null, cloth: this.desk?.cloth ?? null,
    }), { class: "first" });
    this.stop = button("Stop", () => this.ask("stop"));
    this.pin = button("Pin", () => this.pinChosen());
    this.turn = button("Turn", () => this.byHand("turn", { number: this.chosenPieces()[0].number }));
    this.swap = button("Swap", () => this.byHand("swap", { numbers: this.chosenNumbers() }));
    this.undo = button("Undo", () => this.byHand("undo"));
    this.redo = button("Redo", () => this.byHand("redo"));
    this.cloth = make("span");
    this.controls.append(this.cloth, field("Width", this.width), field("Seconds", this.seconds),
      this.lay, this.stop, this.pin, this.turn, this.swap, this.undo, this.redo);
    this.picture.addEventListener("pointermove", (event) => this.dragged(event));
    this.picture.addEventListener("pointerup", (event) => this.dropped(event));
    this.picture.addEventListener("pointercancel", () => this.letGo());
  }

  async ask(what, body = {}) {
    try {
      const answer = await post(this.path("layout", what), body);
      if (answer.layout !== undefined) this.show(answer);
      if (answer.said) say(answer.said);
      return answer;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      this.beside.replaceChildren(...faultList(error.faults));
      return null;
    }
  }

  byHand(what, body) {
    return this.ask(what, body);
  }

  async refresh() {
    this.show(await get(this.path("desk")));
  }

  // A piece keeps its key wherever it lies; its number is that of the diagram as it is now.
  chosenPieces() {
    return this.desk.pieces.filter((piece) => this.chosen.has(piece.key));
  }

  chosenNumbers() {
    return this.chosenPieces().map((piece) => piece.number);
  }

  heard(event) {
    if (event.kind === "desk") this.show(event.desk);
    if (event.kind === "stage") say(event.text);
    if (event.kind === "searching" && this.desk) {
      this.desk.searching = true;
      if (this.desk.figures) this.showFigures({ ...this.desk.figures, ...event.figures });
      if (event.seconds_left !== null) say(`Searching, ${Math.ceil(event.seconds_left)} s left.`);
      this.enable();
    }
    if (event.kind === "ended") {
      say(event.text);
      this.refresh();
    }
    if (event.kind === "failed") {
      say(event.message);
      this.beside.replaceChildren(...faultList(event.faults ?? []));
      this.refresh();
    }
  }

  show(desk) {
    this.desk = desk;
    for (const key of [...this.chosen]) {
      if (!desk.pieces.some((piece) => piece.key === key)) this.chosen.delete(key);
    }
    this.cloth.replaceChildren(desk.cloths.length > 1
      ? field("Cloth", choice(desk.cloths, desk.cloth, (cloth) => this.ask("cloth", { cloth }))) : "");
    if (!this.drag) this.drawPicture();
    if (desk.figures) this.showFigures(desk.figures);
    this.showBeside();
    this.enable();
  }

  enable() {
    const { searching, layout } = this.desk;
    const one = this.chosen.size === 1, some = this.chosen.size > 0;
    this.lay.disabled = searching;
    this.stop.disabled = !searching;
    this.pin.disabled = searching || !some;
    this.turn.disabled = searching || !one;
    this.swap.disabled = searching || this.chosen.size !== 2;
    this.undo.disabled = searching || !this.desk.can_undo;
    this.redo.disabled = searching || !this.desk.can_redo;
    const chosen = this.chosenPieces();
    const pinned = chosen.length > 0 && chosen.every((piece) => piece.pinned);
    this.pin.setAttribute("aria-pressed", String(pinned));
    const held = this.desk.pieces.filter((piece) => piece.pinned).length;
    this.lay.title = held ? `Lay the rest around the ${held} pinned` : "";
    this.picture.setAttribute("aria-busy", String(searching && !layout));
  }

  showFigures(facts) {
    const units = this.desk.units;
    this.facts.replaceChildren(figures([
      ["to buy", facts.buy_text, facts.buy_note, true],
      ["length", lengthText(facts.length_mm, units), `usable width ${lengthText(facts.width_mm, units)}`],
      ["none is shorter than", lengthText(facts.bound_mm, units), "proven"],
      ["share of the cloth used", percent(facts.utilisation)],
      ...(facts.cost_text ? [["cost", facts.cost_text]] : []),
    ]));
  }

  drawPicture() {
    const { layout, pieces } = this.desk;
    if (!layout) {
      this.picture.replaceChildren(make("p", { class: "quiet", style: null },
        "Nothing is laid yet. Press Lay: the pieces appear here while they are packed."));
      return;
    }
    const width = layout.cloth.usable_width_mm, length = layout.length_mm;
    const box = { left: 0, right: Math.max(length, width / 4), low: 0, high: width };
    const svg = draw("svg", {
      viewBox: viewBox(box, width / 18), "data-view": "layout", role: "group",
      "aria-label": `Layout of ${pieces.length} pieces on ${layout.cloth.name}`,
    });
    svg.append(draw("rect", { class: "cloth", x: 0, y: -width, width: box.right, height: width, "vector-effect": "non-scaling-stroke" }));
    for (const flaw of layout.cloth.flaws ?? []) svg.append(draw("path", { class: "ghost nowhere", d: pathOf(flaw.outline_mm) }));
    this.ruler(svg, box.right, width);
    for (const piece of pieces) svg.append(this.pieceGroup(piece, width));
    svg.append(draw("path", { class: "end", d: pathOf([[length, 0], [length, width]], false) }));
    svg.addEventListener("pointerdown", (event) => {
      if (event.target === svg || event.target.classList.contains("cloth")) this.choose(null, event.shiftKey);
    });
    this.picture.replaceChildren(svg);
    this.svg = svg;
  }

  ruler(svg, length, width) {
    const step = length > 6000 ? 1000 : length > 2500 ? 500 : 100, size = width / 42;
    for (let x = 0; x <= length + 1; x += step) {
      svg.append(draw("path", { class: "ruler", d: `M${x} 0v${size / 2}` }),
        draw("text", { x, y: size * 1.7, "font-size": size, "text-anchor": "middle" }, `${x / 10}`));
    }
  }

  pieceGroup(piece, width) {
    const name = `${piece.number} ${piece.name}`;
    const group = draw("g", {
      class: "piece", "data-piece": piece.number, "data-key": piece.key, tabindex: 0, role: "button",
      "aria-label": `${name}, size ${piece.size}, ${piece.copy_words}${piece.pinned ? ", pinned" : ""}`,
      "aria-pressed": String(this.chosen.has(piece.key)),
      onpointerdown: (event) => this.grabbed(event, piece),
      onkeydown: (event) => this.keyed(event, piece),
    });
    group.classList.toggle("chosen", this.chosen.has(piece.key));
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
    const size = Math.min(width / 45, room / 2.2);
    group.append(draw("text", { x: cx, y: -cy + size * .35, "font-size": size, "text-anchor": "middle" },
      room > size * (name.length * .62) ? name : `${piece.number}`));
    if (room > width / 12) group.append(grainArrow([cx, cy - size * 1.4], piece.grain.direction, room * .5, piece.grain.either_way));
    if (piece.pinned) group.append(draw("circle", { class: "pin", cx, cy: -cy - size * 1.6, r: size * .45 }));
    return group;
  }

  choose(key, more) {
    if (key === null) this.chosen.clear();
    else if (more) this.chosen.has(key) ? this.chosen.delete(key) : this.chosen.add(key);
    else if (!this.chosen.has(key)) this.chosen = new Set([key]);
    for (const group of this.picture.querySelectorAll(".piece")) {
      const chosen = this.chosen.has(group.dataset.key);
      group.classList.toggle("chosen", chosen);
      group.setAttribute("aria-pressed", String(chosen));
    }
    this.enable();
    this.showBeside();
  }

  // ---- moving by hand

  at(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [point.x, -point.y];
  }

  grabbed(event, piece) {
    if (event.button) return;
    this.choose(piece.key, event.shiftKey);
    if (this.desk.searching || piece.pinned || event.shiftKey) return;
    const group = this.picture.querySelector(`[data-piece="${piece.number}"]`);
    group.focus();
    const ghost = draw("path", { class: "ghost", d: pathOf(piece.outline_mm) });
    this.drag = { piece, group, ghost, from: this.at(event), asking: false, wish: null, by: [0, 0] };
    this.picture.setPointerCapture(event.pointerId);
    event.preventDefault();
  }

  dragged(event) {
    const drag = this.drag;
    if (!drag) return;
    const [x, y] = this.at(event);
    drag.wish = [x - drag.from[0], y - drag.from[1]];
    if (!drag.ghost.isConnected) this.svg.append(drag.ghost);
    drag.ghost.setAttribute("transform", `translate(${drag.wish[0]} ${-drag.wish[1]})`);
    this.slide(drag);
  }

  async slide(drag) {
    if (drag.asking) return;
    drag.asking = true;
    while (this.drag === drag && drag.wish && drag.wish !== drag.asked) {
      drag.asked = drag.wish;
      const answer = await this.ask("slide", { number: drag.piece.number, by: drag.asked });
      if (!answer) break;
      drag.ghost.classList.toggle("nowhere", !answer.by);
      if (answer.by) {
        drag.by = answer.by;
        drag.group.setAttribute("transform", `translate(${answer.by[0]} ${-answer.by[1]})`);
      }
    }
    drag.asking = false;
  }

  async dropped() {
    const drag = this.drag;
    if (!drag) return;
    const by = drag.wish;
    this.letGo();
    if (by) await this.move(drag.piece, by);
    else this.drawPicture();
  }

  letGo() {
    this.drag?.ghost.remove();
    this.drag = null;
  }

  async move(piece, by) {
    await this.ask("move", { number: piece.number, by });
    this.picture.querySelector(".piece.chosen")?.focus();
  }

  keyed(event, piece) {
    const step = event.shiftKey ? FINE_STEP_MM : STEP_MM;
    const ways = { ArrowRight: [step, 0], ArrowLeft: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
    if (event.key === "Enter" || event.key === " ") {
      this.choose(piece.key, true);
    } else if (this.desk.searching) {
      return;
    } else if (ways[event.key] && !piece.pinned) {
      this.choose(piece.key, false);
      this.move(piece, ways[event.key]);
    } else if (event.key === "t" && !piece.pinned) {
      this.choose(piece.key, false);
      this.byHand("turn", { number: piece.number });
    } else if (event.key === "p") {
      this.choose(piece.key, false);
      this.pinChosen();
    } else {
      return;
    }
    event.preventDefault();
  }

  pinChosen() {
    const chosen = this.chosenPieces();
    const pinned = !chosen.every((piece) => piece.pinned);
    this.byHand("pin", { numbers: this.chosenNumbers(), pinned });
  }

  // ---- beside the picture

  showBeside() {
    const { kept } = this.desk;
    const chosen = this.chosenPieces();
    this.beside.replaceChildren(
      make("h2", {}, "Chosen"),
      chosen.length ? make("ul", {}, chosen.map((piece) => make("li", {}, this.where(piece))))
        : make("p", { class: "quiet" }, "Click a piece, or walk to it with Tab. Drag it, or move it with the arrow keys; Shift moves 1 mm. T turns it, P pins it. Shift-click chooses two to swap."),
      make("h2", {}, "Kept layouts"),
      ...this.keptLayouts(kept),
    );
  }

  where(piece) {
    const low = (axis) => Math.min(...piece.outline_mm.map((point) => point[axis]));
    const units = this.desk.units;
    return `${piece.number} ${piece.name}, size ${piece.size}: ${lengthText(low(0), units)} from the start, ` +
      `${lengthText(low(1), units)} from the near selvage${piece.pinned ? ", pinned" : ""}`;
  }

  keptLayouts(kept) {
    const keep = button("Keep this layout", () => this.ask("keep"), { disabled: !this.desk.layout });
    if (!kept.length) return [make("p", { class: "quiet" }, "None yet."), keep];
    return [make("ul", {}, kept.map((each) => make("li", {},
      `${lengthText(each.length_mm, this.desk.units)}, buy ${each.buy_text} `,
      button("Show", () => this.ask("choose", { kept: each.id }), { disabled: this.desk.searching })))), keep];
  }
}
