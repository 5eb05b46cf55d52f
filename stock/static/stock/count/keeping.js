// Holds what was typed until it is on the disk: written in the journal at once, then
// stored; what the disk refuses is tried again, and stays in hand until it is true.
//   change: something is in hand, or no longer
//   entry: an entry is on the disk, or the disk refused it: it may be sent

import { strike, write } from "./journal.js";
import { storeEntry, storeTyped } from "./queue.js";

const AGAIN_AFTER_MS = 10_000;

// That nothing is typed on a line any more need not be stored for anything to be safe.
function matters({ kind, said }) {
  return kind === "entry" || Boolean(said.text);
}

export class Keeping extends EventTarget {
  constructor() {
    super();
    this.inHand = new Map(); // by kind and id
    setInterval(() => this.tryAgain(), AGAIN_AFTER_MS);
  }

  entry(entry) {
    this.hold({ kind: "entry", id: entry.key, said: entry, store: storeEntry });
  }

  // A blank text: what was typed is entered, or taken out again.
  typed(typed) {
    this.hold({ kind: "typed", id: typed.line, said: typed, store: storeTyped });
  }

  hold(piece) {
    piece.isWritten = write(piece.kind, piece.said.by, piece.id, piece.said);
    this.inHand.set(`${piece.kind} ${piece.id}`, piece);
    this.store(piece);
  }

  store(piece) {
    piece.isRunning = true; // an error stands until it is mended
    piece.running = piece.store(piece.said).then(
      () => this.done(piece),
      (error) => {
        Object.assign(piece, { error, isRunning: false });
        this.changed(piece);
      },
    );
    this.changed();
  }

  done(piece) {
    strike(piece.kind, piece.said.by, piece.id, piece.said);
    if (this.inHand.get(`${piece.kind} ${piece.id}`) === piece) {
      this.inHand.delete(`${piece.kind} ${piece.id}`);
    }
    this.changed(piece);
  }

  // The server has them: no disk is needed any more.
  sent(entries) {
    for (const { key } of entries) {
      const piece = this.inHand.get(`entry ${key}`);
      if (piece?.error) {
        this.done(piece);
      }
    }
  }

  changed(piece) {
    this.dispatchEvent(new Event("change"));
    if (piece?.kind === "entry") {
      this.dispatchEvent(new Event("entry"));
    }
  }

  tryAgain() {
    this.pieces.filter(({ isRunning }) => !isRunning).forEach((piece) => this.store(piece));
  }

  get pieces() {
    return [...this.inHand.values()];
  }

  get failed() {
    return this.pieces.filter((piece) => piece.error && matters(piece));
  }

  get isBusy() {
    return this.pieces.some(({ isRunning }) => isRunning);
  }

  // Whether the page may be left: all is stored, or written in the journal at least.
  get isSafe() {
    return this.pieces.every((piece) => piece.isWritten || !matters(piece));
  }

  get entries() {
    return this.pieces.filter(({ kind }) => kind === "entry").map(({ said }) => said);
  }

  // Returns when nothing is on its way to the disk any more, or after so long.
  settled(patienceMs) {
    const late = new Promise((resolve) => {
      setTimeout(resolve, patienceMs);
    });
    return Promise.race([Promise.all(this.pieces.map(({ running }) => running)), late]);
  }
}
