// The sheet of one place: its lines, and what a key or a tap does to one of them.

import { ask } from "./asking.js";
import { Counting } from "./counting.js";
import { remember, remembered } from "./device.js";
import { Keeping } from "./keeping.js";
import { Line } from "./line.js";
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
    this.counted = new Set(); // "item place" that this phone has counted elsewhere
    this.typedElsewhere = []; // typed on another sheet, and not entered
    this.typedLost = new Set(); // ids of typed lines that this sheet has no more
    this.byNode = new Map();
    form.querySelectorAll("[data-line]").forEach((node, place) => this.add(node, data.lines[place]));
    this.counting = new Counting(this);
    this.mode = { isDigits: remembered("count-keys") !== "abc" };
    this.tools = new Tools(this.mode);
    this.keeping = new Keeping();
    this.sending = new Sending(data.entries_url, data.by, () => this.keeping.entries);
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
    this.showTyped();
  }

  showTyped() {
    const here = this.typedLines.map((line) => line.typed(line.input.value));
    const isLost = ({ line }) => this.typedLost.has(line);
    this.standing.showTyped([...here, ...this.typedElsewhere], isLost);
  }

  // Lines of this sheet that say something else than what was entered of them.
  get typedLines() {
    return this.lines.filter((line) => line.isChanged && line.input !== document.activeElement);
  }

  // What the disk refuses can still go to the kitchen with the page itself.
  kept() {
    this.standing.showKeeping(this.keeping);
    this.form.querySelector("[data-send-page]").hidden = !this.keeping.failed.length;
  }

  next(line) {
    const next = this.lines[this.lines.indexOf(line) + 1]?.input ?? this.form.querySelector("[data-extra-item]");
    next?.focus();
  }

  // A question holds the line, and the cursor in it: an Enter that bounces, or a space
  // bar, says nothing. Tab goes to the answers.
  goOn(line) {
    if (this.counting.take(line)) {
      this.next(line);
    } else {
      line.asking?.scrollIntoView({ block: "nearest" });
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
    remember("count-keys", this.mode.isDigits ? "123" : "abc");
    this.takeInHand(line);
    line.input.blur();
    line.input.focus();
  }

  typed(line) {
    line.isTouched = true;
    line.hear();
    this.keeping.typed(line.typed(line.isChanged ? line.input.value : ""));
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
