// The layout: watched while it is searched for, and moved by hand afterwards.

import { get, post, jobPath, Refused } from "./api.js";
import { button, choice, draw, faultList, field, figures, make, say, steps } from "./dom.js";
import { pathOf } from "./picture.js";
import { sized, tableBox, tablePicture } from "./table.js";
import { Trying } from "./trying.js";
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
    this.picture = make("div", { class: "on-table" });
    const sheet = make("div", { class: "sheet table-view" }, this.picture);
    this.beside = make("aside");
    this.rest = make("div");
    main.replaceChildren(this.controls, this.facts, this.rest, make("div", { class: "two" }, sheet, this.beside));
    this.trying = new Trying(job, this.picture);
    this.build();
    this.close = job.events.listen((event) => this.heard(event));
  }

  path(...rest) {
    return jobPath(this.job.id, ...rest);
  }

  build() {
    this.width = make("input", { size: 11, value: "", placeholder: "as in the job" });
    this.widthField = field("Width", this.width);
    this.seconds = make("input", { type: "number", min: 1, max: 3600, value: 30, size: 5 });
    this.lay = button("Lay", () => this.startSearch(), { class: "first" });
    this.stop = button("Stop", () => { say("Stopping…"); this.ask("stop"); });
    this.pin = button("Pin", () => this.pinChosen());
    this.turn = button("Turn", () => this.byHand("turn", () => ({ piece: [...this.chosen][0] })));
    this.swap = button("Swap", () => this.byHand("swap", () => ({ pieces: [...this.chosen] })));
    this.steps = steps((what) => this.stepped(what));
    this.print = button("Print", () => { location.hash = `#/${this.job.id}/print`; });
    this.download = button("Download", () => { location.href = `${this.path("file")}?kind=diagram.pdf`; }, { title: "The cutting diagram, PDF" });
    this.clock = make("span", { class: "clock" });  // not read out each second
    this.cloth = make("span", { class: "slot" });
    this.controls.append(this.cloth, this.widthField, field("Seconds", this.seconds),
      this.lay, this.stop, this.pin, this.turn, this.swap, ...this.steps.buttons, this.print, this.download, this.clock);
    this.kept = make("details", { class: "kept", ontoggle: () => this.showKept() },
      make("summary", {}, "Kept layouts"), make("div"));
    this.picture.addEventListener("pointermove", (event) => this.dragged(event));
    this.picture.addEventListener("pointerup", (event) => this.dropped(event));
    this.picture.addEventListener("pointercancel", () => this.letGo());
  }

  async startSearch() {
    this.told = false;
    this.desk.searching = true;  // before it is asked for: its end may be told before its beginning
    this.enable();
    if (await this.ask("lay", { seconds: Number(this.seconds.value), width: this.width.value.trim() || null })) return;
    this.desk.searching = false;
    this.enable();
  }

  async adopt() {
    if (!await this.byHand("adopt", () => ({ width: this.width.value.trim() }))) return;
    this.width.value = "";
    ({ digest: this.job.digest } = await get(this.path()));
  }

  async ask(what, body = {}) {
    try {
      const answer = await post(this.path("layout", what), body);
      if (answer.layout !== undefined) this.show(answer);
      if (answer.said && !(what === "lay" && this.told)) say(answer.said);  // what it does by now is told already
      return answer;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.message);
      this.beside.replaceChildren(...faultList(error.faults));
      return null;
    }
  }

  // One change after another, each of the layout as the one before left it; `body` says of what.
  byHand(what, body = () => ({})) {
    this.last = (this.last ?? Promise.resolve()).then(() => this.ask(what, { version: this.desk.version, ...body() }));
    return this.last;
  }

  async stepped(what) {
    const desk = await this.byHand(what), length = desk?.figures?.length_mm;
    if (desk) say(`${what === "undo" ? "Undone" : "Done again"}${length ? `: ${lengthText(length, desk.units)} of cloth` : ""}.`);
  }

  // What stands now, and why it is shown.
  async refresh(text = "") {
    this.show(await get(this.path("desk")));
    if (text) say(text);
  }

  // A piece keeps its key and its number wherever it lies; numbers go along the cloth when it is laid anew.
  chosenPieces() {
    return this.desk.pieces.filter((piece) => this.chosen.has(piece.key));
  }

  heard(event) {
    if (event.kind === "desk" && (event.desk.searching || event.desk.version !== this.desk?.version)) this.show(event.desk);
    if (event.kind === "trying" && this.desk?.layout) this.trying.show(event, tableBox(this.desk.layout));
    if (event.kind === "changed") this.changed(event.job);
    if (event.kind === "back") this.refresh();
    if (["stage", "searching", "ended", "failed"].includes(event.kind)) this.told = true;
    if (event.kind === "stage") say(event.text);
    if (event.kind === "searching" && this.desk) {
      this.desk.searching = true;
      if (this.desk.figures) this.showFigures({ ...this.desk.figures, ...event.figures });
      if (!this.clock.textContent) say(this.desk.on_remnants ? "Searching: pieces are shared out among the remnants until all of them lie on one."
        : "Searching. Light lines are what is being tried; they are no layout yet.");
      this.clock.textContent = event.seconds_left === null ? "searching" : `${Math.ceil(event.seconds_left)} s left`;
      this.enable();
    }
    if (event.kind === "ended") this.refresh(event.text);
    if (event.kind === "failed") this.refresh(event.message).then(() => { if (event.faults?.length) this.beside.replaceChildren(...faultList(event.faults)); });
  }

  changed(digest) {
    if (digest !== this.job.digest) this.job.again().then(() => say("The job file was changed elsewhere: here is what stands now."));
    else this.refresh("Another program has stored a layout: here it is. Undo brings yours back.");
  }

  show(desk) {
    this.desk = desk;
    this.widthField.hidden = desk.on_remnants;  // they are as wide as they are
    if (!desk.searching) {
      this.trying.end();
      this.clock.textContent = "";
    }
    for (const key of [...this.chosen]) {
      if (!desk.pieces.some((piece) => piece.key === key)) this.chosen.delete(key);
    }
    this.cloth.replaceChildren(desk.cloths.length > 1
      ? field("Cloth", choice(desk.cloths, desk.cloth, (cloth) => this.ask("cloth", { cloth }))) : "");
    if (!this.drag) this.drawPicture();
    if (desk.figures) this.showFigures(desk.figures); else this.facts.replaceChildren();
    this.rest.replaceChildren(...(desk.figures && !desk.searching && desk.not_laid.length ? [make("p", { class: "row" },
      `Not laid yet: ${desk.not_laid.join(", ")}. `, desk.not_laid.map((cloth) => button(`Go to ${cloth}`, () => this.ask("cloth", { cloth }))))] : []));
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
    this.print.disabled = this.download.disabled = !layout;
    this.steps.stand({ can_undo: !searching && this.desk.can_undo, can_redo: !searching && this.desk.can_redo });
    const chosen = this.chosenPieces();
    const pinned = chosen.length > 0 && chosen.every((piece) => piece.pinned);
    this.pin.setAttribute("aria-pressed", String(pinned));
    const held = this.desk.pieces.filter((piece) => piece.pinned).length;
    this.lay.title = held ? `Lay the rest around the ${held} pinned` : "";
    this.picture.setAttribute("aria-busy", String(searching && !layout));
  }

  showFigures(facts) {
    const units = this.desk.units;
    if (facts.remnants_text) {
      this.facts.replaceChildren(figures([["remnants used", facts.remnants_text, "", true],
        ["share of these used", percent(facts.utilisation)]]));
      return;
    }
    this.facts.replaceChildren(figures([
      ["to buy", facts.buy_text, facts.buy_note, true],
      ...(facts.least_text === null ? [] : [["nobody can cut it from less than", facts.least_text, facts.is_least ? "a longer search saves no cloth" : "at this width"]]),
      ["length", lengthText(facts.length_mm, units), `usable width ${lengthText(facts.width_mm, units)}`],
      ...(facts.bound_mm === null ? [] : [["none is shorter than", lengthText(facts.bound_mm, units), "proven"]]),
      ["share of the cloth used", percent(facts.utilisation)],
      ...(facts.cost_text ? [["cost", facts.cost_text]] : []),
    ]), ...(this.desk.tried && !this.desk.searching ? [make("p", { class: "row" }, "This width was only tried: nothing is stored yet.",
      button("Write it to the job", () => this.adopt()))] : []));
  }

  drawPicture() {
    const { layout, pieces } = this.desk;
    if (!layout) {
      this.picture.replaceChildren(make("p", { class: "quiet" },
        "Nothing is laid yet. Press Lay: the pieces appear here while they are packed."));
      return;
    }
    const focused = document.activeElement?.closest?.(".piece")?.dataset.key;
    const svg = tablePicture(layout, pieces, this.desk.units, (piece, group) => {
      const chosen = this.chosen.has(piece.key);
      group.setAttribute("aria-pressed", String(chosen));
      group.classList.toggle("chosen", chosen);
      group.addEventListener("pointerdown", (event) => this.grabbed(event, piece));
      group.addEventListener("keydown", (event) => this.keyed(event, piece));
    });
    svg.addEventListener("pointerdown", (event) => {
      if (!event.target.closest(".piece")) this.choose(null, event.shiftKey);
    });
    this.picture.replaceChildren(svg, ...(this.trying.svg.isConnected ? [this.trying.svg] : []));
    sized(this.picture, layout);
    this.svg = svg;
    if (focused) this.groupOf(focused)?.focus();
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

  groupOf(key) {
    return this.picture.querySelector(`.piece[data-key="${CSS.escape(key)}"]`);
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
    const group = this.groupOf(piece.key);
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
      const answer = await this.ask("slide", { piece: drag.piece.key, by: drag.asked });
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

  async move(piece, by, nudged = false) {
    const before = this.desk;
    const desk = await this.byHand("move", () => ({ piece: piece.key, by, nudged }));
    if (desk) say(this.movedWords(piece, before, desk));
    else this.drawPicture();
    this.picture.querySelector(".piece.chosen")?.focus();
  }

  // Where a piece got to, for those who do not see it move.
  movedWords(piece, before, desk) {
    const now = desk.pieces.find((each) => each.key === piece.key);
    const low = (each, axis) => Math.min(...each.outline_mm.map((point) => point[axis]));
    if (Math.hypot(low(now, 0) - low(piece, 0), low(now, 1) - low(piece, 1)) < .05) {
      return "No free place that way: it stays where it is.";
    }
    if (now.on) return `${this.where(now)}.`;
    return `${this.where(now)}. ${lengthText(desk.figures.length_mm, desk.units)} of cloth, before ${lengthText(before.figures.length_mm, desk.units)}.`;
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
      this.move(piece, ways[event.key], true);
    } else if (event.key === "Escape" && this.drag) {
      this.letGo();
      this.drawPicture();
    } else if (event.key === "t" && !piece.pinned) {
      this.choose(piece.key, false);
      this.byHand("turn", () => ({ piece: piece.key }));
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
    this.byHand("pin", () => ({ pieces: [...this.chosen], pinned }));
  }

  // ---- beside the picture

  showBeside() {
    const chosen = this.chosenPieces();
    this.beside.replaceChildren(
      make("h2", {}, "Chosen"),
      chosen.length ? make("ul", {}, chosen.map((piece) => make("li", {}, this.where(piece))))
        : make("p", { class: "quiet" }, "Click a piece, or walk to it with Tab. Drag it, or move it with the arrow keys; Shift moves 1 mm. T turns it, P pins it. Shift-click chooses two to swap. Lay then lays the rest around what is pinned."),
      ...this.toRemnant(chosen),
      button("Keep this layout", async () => { await this.ask("keep"); this.showKept(); }, { disabled: !this.desk.layout || this.desk.searching }),
      this.kept,
    );
  }

  // The same as a drag from one remnant to another, for those who do not drag.
  toRemnant(chosen) {
    const { layout, searching } = this.desk;
    const [piece] = chosen;
    if (chosen.length !== 1 || !piece.on || piece.pinned || layout.remnants.length < 2) return [];
    const others = layout.remnants.filter(({ name }) => name !== piece.on);
    const middle = (rings) => [0, 1].map((axis) => {
      const all = rings.map((point) => point[axis]);
      return (Math.min(...all) + Math.max(...all)) / 2;
    });
    const from = middle(piece.outline_mm);
    return [make("p", { class: "row" }, others.map(({ name, rings }) => button(`To “${name}”`, () => {
      const to = middle(rings[0]);
      this.move(piece, [to[0] - from[0], to[1] - from[1]]);
    }, { disabled: searching })))];
  }

  where(piece) {
    const low = (axis) => Math.min(...piece.outline_mm.map((point) => point[axis]));
    const units = this.desk.units;
    const along = lengthText(low(0), units), across = lengthText(low(1) - piece.begins_mm, units), pinned = piece.pinned ? ", pinned" : "";
    if (piece.on) return `${piece.number} ${piece.in_full}, on “${piece.on}”: ${along} from its left end, ${across} from its lower edge${pinned}`;
    return `${piece.number} ${piece.in_full}: ${along} from the start, ${across} from the near selvage${pinned}`;
  }

  // The last layouts side by side with their figures, read when they are wanted.
  async showKept() {
    if (!this.kept.open) return;
    const place = this.kept.lastElementChild, units = this.desk.units;
    place.replaceChildren(make("p", { class: "quiet" }, "Reading them…"));
    const { layouts } = await get(this.path("kept"));
    const words = (each) => `${lengthText(each.length_mm, units)}${each.stands ? ", stands now" : ""}`;
    place.replaceChildren(layouts.length ? make("ul", {}, layouts.map((each) => make("li", {}, make("strong", {}, words(each)), " ",
      each.why_not ? make("small", { title: each.why_not }, "laid before the job was changed")
        : each.remnants.length ? make("small", {}, `on ${each.remnants.length} remnants `) : make("small", {},
        `buy ${each.buy_text}${each.cost_text ? `, ${each.cost_text}` : ""}, ${percent(each.utilisation)} of the cloth used `),
      each.why_not ? "" : button("Show", () => this.ask("choose", { kept: each.id }),
        { disabled: this.desk.searching, "aria-label": `Show the layout of ${words(each)}` }))))
      : make("p", { class: "quiet" }, "None yet: each search adds one."));
  }
}
