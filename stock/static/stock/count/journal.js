// What is in hand, written down in the same moment and before anything else.
//
// A page that is left takes its unfinished IndexedDB writes with it; this writing is
// done when the call returns. It is struck out once the same thing is in the store,
// and what a page left behind is brought there by the next one.

const MARK = "count-in-hand";

function name(kind, by, id) {
  return [MARK, kind, by, id].join(" ");
}

// Returns whether it is written; a full or forbidden storage is no error here.
export function write(kind, by, id, said) {
  try {
    localStorage.setItem(name(kind, by, id), JSON.stringify(said));
    return true;
  } catch {
    return false;
  }
}

// Strikes it out, unless another tab has written something newer there.
export function strike(kind, by, id, said) {
  try {
    if (localStorage.getItem(name(kind, by, id)) === JSON.stringify(said)) {
      localStorage.removeItem(name(kind, by, id));
    }
  } catch {
    // then it was never written
  }
}

// Returns what is written down of one person, or of everybody.
export function written(kind, by = "") {
  const start = `${[MARK, kind, by].join(" ").trim()} `;
  try {
    return Object.keys(localStorage)
      .filter((key) => key.startsWith(start))
      .map((key) => JSON.parse(localStorage.getItem(key)));
  } catch {
    return [];
  }
}
