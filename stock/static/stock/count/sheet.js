// The sheet of one place: its lines, and what a key or a tap does to one of them.

import { ask } from "./asking.js";
import { Counting } from "./counting.js";
import { Line } from "./line.js";
import { keepDraft } from "./queue.js";
import { Sending } from "./sending.js";
import { Standing } from "./standing.js";
import { Tools } from "./tools.js";
import { takeNextUnit } from "./unit.js";

export class Sheet {
  constructor(form, data) {
    Object.assign(this, data);
    this.form = form;
    this.standing = new Standing(document.querySelector("[data-standing]"));
    this.lines = [];
    this.byNode = new Map();
    form.querySelectorAll("[data-line]").forEach((node, place) => this.add(node, data.lines[place]));
    this.counting = new Counting(this);
    this.mode = { isDigits: localStorage.getItem("count-keys") !== "abc" };
    this.tools = new Tools(this.mode);
    this.sending = new Sending(data.entries_url);
  }

  add(node, data) {
    const line = new Line(node, data, this);
    this.lines.push(line);
    this.byNode.set(node, line);
    return line;
  }

  lineOf(node) {
    return this.byNode.get(node.closest("[data-line]"));
  }

  changed() {
    this.standing.showLeft(this.lines);
  }

  cannotKeep(error) {
    const words = "This phone cannot keep entries. Send the page with the button below.";
    this.standing.waiting.textContent = `${words} (${error.message})`;
    this.form.querySelector("[data-send-page]").hidden = false;
  }

  next(line) {
    const next = this.lines[this.lines.indexOf(line) + 1]?.input ?? this.form.querySelector("[data-extra-item]");
    next?.focus();
  }

  // A question holds the line: Enter again says that it is as entered.
  goOn(line) {
    if (this.counting.take(line)) {
      this.next(line);
    } else if (line.question) {
      line.asking?.querySelector("button").focus();
    }
  }

  tap(line, button) {
    const { tool, value } = button.dataset;
    if (tool === "tenths") {
      this.tools.tenths.hidden = !this.tools.tenths.hidden;
    } else if (tool === "unit") {
      if (takeNextUnit(line)) {
        line.input.focus();
        this.typed(line);
      }
    } else if (tool === "keys") {
      this.switchKeys(line);
    } else if (tool === "none" || tool === "next") {
      line.input.value = tool === "none" ? "none" : line.input.value;
      this.goOn(line);
    } else {
      line.input.value = this.tools.apply(tool, value, line.input.value);
      this.typed(line);
    }
  }

  switchKeys(line) {
    this.mode.isDigits = !this.mode.isDigits;
    localStorage.setItem("count-keys", this.mode.isDigits ? "123" : "abc");
    this.takeInHand(line);
    line.input.blur();
    line.input.focus();
  }

  typed(line) {
    line.hear();
    keepDraft(line.id, line.isChanged ? line.input.value : "").catch((error) => this.cannotKeep(error));
  }

  takeInHand(line) {
    line.input.inputMode = this.mode.isDigits ? "decimal" : "text";
    this.tools.under(line);
  }

  // The kitchen may know more than this phone, and ask where the phone did not.
  hear(entries) {
    for (const entry of entries.filter(({ question }) => question)) {
      const line = this.lines.find(({ keptKey }) => keptKey === entry.key);
      if (line && !line.asking && !line.isChanged) {
        ask(line, entry.question);
      }
    }
  }

  answer(line, button) {
    if (button.dataset.answer === "meant") {
      line.input.value = button.dataset.text;
      this.goOn(line);
      return;
    }
    this.counting.answer(line, button.dataset);
    this.next(line);
  }
}
