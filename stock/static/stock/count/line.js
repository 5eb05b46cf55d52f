// One line of the sheet: its field, its echo, what is asked, and how it stands.

import { echo, spelled } from "./echo.js";
import { toLedger } from "./fractions.js";
import { question } from "./slips.js";
import { lineId, understand } from "./understanding.js";
import { showUnit } from "./unit.js";
import { Words } from "./words.js";

const FITS_BESIDE_THE_NAME = 10; // letters, on a small phone

export class Line {
  constructor(node, data, sheet) {
    this.node = node;
    this.data = data;
    this.sheet = sheet;
    this.id = lineId(sheet.count, sheet.place, data);
    this.input = node.querySelector("input[data-amount]");
    this.echo = node.querySelector("[data-echo]");
    this.name = data.item;
    this.keptText = data.mine?.text ?? ""; // what was said last, and the entry's key
    this.keptKey = data.mine?.key ?? null;
    this.keptTyped = data.mine?.typed ?? ""; // the same, before it was given its unit
    this.question = data.question ?? null; // asked, and not answered yet
    node.querySelectorAll("[data-asked-by-page]").forEach((box) => box.remove()); // asked here instead
    showUnit(this);
  }

  // Made when the line is first read: a long sheet opens without them.
  get words() {
    this.ownWords ??= new Words(this.data, this.sheet.grammar);
    return this.ownWords;
  }

  understood() {
    return understand(this.input.value, this);
  }

  fit() {
    this.node.toggleAttribute("data-long", this.input.value.length > FITS_BESIDE_THE_NAME);
  }

  // While typing only what is understood is said; a half-typed word is no mistake.
  hear() {
    this.fit();
    const { reading } = this.understood();
    this.say(reading ? echo(reading, this.words) : "");
  }

  say(words, kind = "") {
    if (this.echo.textContent !== words) {
      this.echo.textContent = words;
    }
    this.node.dataset.state = kind;
    if (kind === "faulty") {
      this.input.setAttribute("aria-invalid", "true");
    } else {
      this.input.removeAttribute("aria-invalid");
    }
  }

  sayTyped() {
    this.say(`${this.echo.textContent} Typed, not entered yet: go to it and press Enter.`.trim(), "typed");
  }

  get isChanged() {
    return this.input.value.trim() !== this.keptText;
  }

  get isCounted() {
    return Boolean(this.keptText) || this.data.others.length > 0;
  }

  // Shows what was kept, and only now what is on record.
  show() {
    this.fit();
    const { reading, problem } = this.understood();
    if (problem) {
      this.say(problem, "faulty");
    } else if (reading) {
      const others = this.data.others.map((other) => `${other.by}: ${other.words}.`);
      const notes = [this.data.on_record && `On record ${this.data.on_record}.`, ...others];
      this.say(`${echo(reading, this.words)}. ${notes.filter(Boolean).join(" ")}`, "counted");
    } else {
      this.say(this.data.others.map((other) => `Counted by ${other.by}.`).join(" "));
    }
  }

  // The line itself, and whose it is, as all that is kept on the phone names them.
  get named() {
    return {
      line: this.id,
      count: this.sheet.count,
      place: this.sheet.place,
      item: this.data.item_id,
      use_by: this.data.use_by,
      lot_code: this.data.lot_code,
      by: this.sheet.by,
      by_name: this.sheet.by_name,
      item_name: this.name,
    };
  }

  entry(reading) {
    const text = this.input.value.trim();
    return { ...this.named, text, typed: this.keptTyped, understood_base: reading ? toLedger(reading.base) : null };
  }

  // What stands in the field and is not entered; blank where nothing does.
  typed(text) {
    const url = `${location.pathname}#${this.input.id}`;
    return { ...this.named, place_name: this.sheet.place_name, url, text };
  }

  // Where else it stands by the server's word, less what this phone has counted since.
  get record() {
    const { record, item_id: item } = this.data;
    const places = record.not_counted_yet.filter((name) => !this.sheet.counted.has(`${item} ${name}`));
    return { ...record, not_counted_yet: places };
  }

  slip(reading) {
    const slip = reading && question(reading, this.record, this.words, this.sheet.rules);
    const entered = () => (reading.base.top ? spelled(reading.terms, this.words) : "none");
    return slip && { ...slip, entered: entered() };
  }

  // What there is to ask about what the field says, if it can be read.
  questionNow() {
    const { reading } = this.understood();
    return reading ? this.slip(reading) : null;
  }
}
