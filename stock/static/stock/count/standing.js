// How the count stands: what is left here, and what waits on this phone.

import { TypedList } from "./typed.js";

const TROUBLES = {
  offline: "No network here: go on counting, they are sent by themselves later.",
  "signed out": "Sign in again and they are sent; nothing is lost.",
  refused: "The kitchen could not take them yet; they stay here and are tried again.",
};

export function waitingWords({ waiting, trouble, typed = 0 }) {
  if (!waiting) {
    return typed ? "Everything entered is sent." : "Everything is sent.";
  }
  const entries = waiting === 1 ? "1 entry waits" : `${waiting} entries wait`;
  return `${entries} on this phone. ${TROUBLES[trouble] ?? ""}`.trim();
}

export function leftWords(left, all) {
  return left ? `${left} of ${all} left` : `All ${all} counted`;
}

function unstoredWords(keeping, error) {
  const lines = keeping.failed.length === 1 ? "1 line is" : `${keeping.failed.length} lines are`;
  const stay = keeping.isSafe ? "" : " Stay on this page.";
  return `${lines} not on this phone's disk yet: ${error.message || error.name}.${stay} It is tried again.`;
}

export class Standing {
  constructor(bar) {
    this.bar = bar;
    this.stand = { waiting: 0, trouble: "", again: true };
    this.typed = 0; // lines that are typed and not entered
    this.isBusy = false; // something is on its way to the disk
    this.left = bar.querySelector("[data-left]");
    this.waiting = bar.querySelector("[data-waiting]");
    this.heard = bar.querySelector("[data-heard]");
    this.signIn = bar.querySelector("[data-sign-in]");
    this.typedList = new TypedList(bar.querySelector("[data-typed]"));
    this.trouble = bar.querySelector("[data-unstored]");
  }

  // Who does not look at the line hears it, once it is taken and not at every letter.
  tell(line) {
    const asked = line.asking?.querySelector("p")?.textContent ?? "";
    this.heard.textContent = `${line.name}: ${line.echo.textContent} ${asked}`.trim();
  }

  showLeft(lines) {
    const left = lines.filter((line) => !line.isCounted).length;
    this.left.textContent = leftWords(left, lines.length);
  }

  showWaiting(stand) {
    this.stand = stand;
    this.show();
  }

  showTyped(typed, isLost) {
    this.typed = typed.length;
    this.typedList.show(typed, isLost);
    this.bar.hidden &&= !typed.length;
    this.show();
  }

  // What the disk refuses is said until it is on the disk, or at the kitchen's.
  showKeeping(keeping) {
    this.isBusy = keeping.isBusy || keeping.failed.length > 0;
    if (keeping.entries.length) {
      this.stand = { ...this.stand, again: true }; // until the sending has told of them
    }
    const [{ error } = {}] = keeping.failed;
    const words = error ? unstoredWords(keeping, error) : "";
    if (this.trouble.textContent !== words) {
      this.trouble.hidden = !error;
      this.trouble.textContent = words;
    }
    this.show();
  }

  // Ears are told what waits only when that says something new.
  show() {
    const { waiting, again, trouble } = this.stand;
    const words = waitingWords({ waiting, trouble, typed: this.typed });
    const isSent = !waiting && !again && !this.isBusy;
    this.bar.dataset.stand = isSent ? "sent" : "waiting";
    if (this.waiting.textContent !== words && (isSent || waiting)) {
      this.waiting.textContent = words;
    }
    this.signIn.hidden = trouble !== "signed out";
  }
}
