// The device's own memory: entries and half-typed lines, in IndexedDB.
//
// Each row names the person that it belongs to; nobody else is shown it.

const VERSION = 2;
const STORES = {
  entries: { keyPath: "key" },
  typed: { keyPath: ["by", "line"] },
  device: { keyPath: "id" },
};

export const NOBODY = 0;

let opened;

// In the first version half-typed lines named nobody: they are the last counter's, or
// whoever signs in first gets them.
function adopt(database, transaction) {
  const entries = transaction.objectStore("entries").getAll();
  const drafts = transaction.objectStore("drafts").getAll();
  drafts.onsuccess = () => {
    const last = entries.result.reduce((a, b) => (a && a.sequence > b.sequence ? a : b), null);
    const typed = transaction.objectStore("typed");
    for (const { line, text } of drafts.result) {
      const [count, place, item, useBy, lot] = JSON.parse(line);
      const said = { count, place, item, use_by: useBy || null, lot_code: lot, text };
      typed.put({ by: last?.by ?? NOBODY, line, url: `/count/${count}/${place}/`, ...said });
    }
    database.deleteObjectStore("drafts");
  };
}

function upgrade({ target: { result: database, transaction } }) {
  for (const [name, options] of Object.entries(STORES)) {
    if (!database.objectStoreNames.contains(name)) {
      database.createObjectStore(name, options);
    }
  }
  if (database.objectStoreNames.contains("drafts")) {
    adopt(database, transaction);
  }
}

function opening() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open("counts", VERSION);
    request.onupgradeneeded = upgrade;
    request.onblocked = () => reject(new Error("close the other tabs of this kitchen"));
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const database = request.result;
      database.onclose = () => {
        opened = undefined;
      };
      database.onversionchange = () => {
        database.close();
        opened = undefined;
      };
      resolve(database);
    };
  });
}

// A disk that does not answer is a disk that refuses: nothing waits for it for ever.
const PATIENCE_MS = 8_000;

// Runs a job on some stores; what it returns counts once everything is on the disk, or,
// where relaxed, with the system, which outlives the tab.
export function transact(names, mode, job, durability = "strict") {
  const late = new Promise((_resolve, reject) => {
    setTimeout(() => reject(new Error("the disk does not answer")), PATIENCE_MS);
  });
  return Promise.race([run(names, mode, job, durability), late]);
}

async function run(names, mode, job, durability) {
  opened ??= opening();
  const database = await opened.catch((error) => {
    opened = undefined; // the next one tries again
    throw error;
  });
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(names, mode, { durability });
    let answer;
    transaction.oncomplete = () => resolve(answer);
    transaction.onabort = () => reject(transaction.error ?? new Error("the disk refused"));
    Promise.resolve(job(...names.map((name) => transaction.objectStore(name)))).then(
      (value) => {
        answer = value;
      },
      (error) => {
        reject(error);
        transaction.abort();
      },
    );
  });
}

export function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
