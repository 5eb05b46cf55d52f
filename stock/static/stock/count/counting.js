// Takes what was said of a line: kept first, then asked about, then shown and sent.

import { ask, askWhich, settle } from "./asking.js";
import { stamped } from "./queue.js";
import { wholeText } from "./unit.js";

export class Counting {
  constructor(sheet) {
    this.sheet = sheet;
  }

  // Returns whether the line is settled, so that one may go on to the next.
  take(line) {
    if (!line.isChanged) {
      return !line.asking;
    }
    const { reading, problem, readings } = line.understood();
    if (problem) {
      line.say(problem, "faulty");
      askWhich(line, readings);
      this.sheet.standing.tell(line);
      return false;
    }
    const slip = line.slip(reading);
    this.accept(line, reading, { asked: slip?.kind ?? "", confirmed: false });
    if (slip) {
      this.ask(line, slip);
    }
    return !slip;
  }

  ask(line, slip) {
    ask(line, slip);
    this.sheet.standing.tell(line);
  }

  accept(line, reading, doubt) {
    settle(line);
    line.keptTyped = line.isChanged ? line.input.value.trim() : line.keptTyped;
    line.input.value = wholeText(line);
    line.keptText = line.input.value.trim();
    this.store(line, { ...line.entry(reading), ...doubt });
    line.show();
    this.sheet.standing.tell(line);
    this.sheet.changed();
  }

  // An entry replaces the one before it by that one's key. It is in the journal when
  // this returns.
  store(line, said) {
    const entry = stamped({ ...said, supersedes: line.keptKey });
    line.keptKey = entry.key;
    this.sheet.keeping.entry(entry);
    this.sheet.keeping.typed(line.typed(""));
  }

  // Either reading was tapped; that it is so is kept with the entry.
  answer(line, { answer, text, asked }) {
    const doubt = answer === "instead" ? { asked: "", confirmed: false } : { asked, confirmed: true };
    line.input.value = text ?? line.keptText;
    this.accept(line, line.understood().reading, doubt);
  }
}
