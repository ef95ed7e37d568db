// What happens to a job, told by the server for as long as the job is open in this tab.

import { isOwn, jobPath } from "./api.js";
import { say } from "./dom.js";

export class JobEvents {
  constructor(id) {
    this.heard = new Set();
    this.lost = false;
    this.source = new EventSource(jobPath(id, "events"));
    this.source.onmessage = (message) => this.tell(JSON.parse(message.data));
    // What is read once this has come is not out of date unheard.
    this.begun = new Promise((begin) => {
      this.source.onopen = () => { this.opened(); begin(); };
      this.source.onerror = () => { this.failed(); begin(); };
    });
  }

  // `act(event)` for each event from now on; returns a function that ends it.
  listen(act) {
    this.heard.add(act);
    return () => this.heard.delete(act);
  }

  close() {
    this.source.close();
  }

  tell(event) {
    if (isOwn(event)) return;
    for (const act of [...this.heard]) act(event);
  }

  opened() {
    if (!this.lost) return;
    this.lost = false;
    say("Connected again. Here is what is stored.");
    this.tell({ kind: "back" });
  }

  failed() {
    this.lost = true;
    say(this.source.readyState === EventSource.CLOSED
      ? "This page's server has ended. Start `marker serve` and open the address that it prints: what was laid and written is stored."
      : "The server does not answer. What was laid and written is stored; this page goes on when it is back.");
  }
}
