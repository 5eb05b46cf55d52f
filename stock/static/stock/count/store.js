// The device's own memory: entries and half-typed lines, in IndexedDB.

const STORES = {
  entries: { keyPath: "key" },
  drafts: { keyPath: "line" },
  device: { keyPath: "id" },
};

let opened;

function opening() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open("counts", 1);
    request.onupgradeneeded = () => {
      for (const [name, options] of Object.entries(STORES)) {
        request.result.createObjectStore(name, options);
      }
      request.transaction.objectStore("entries").createIndex("count", "count");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

// Runs a job on some stores; what it returns counts once everything is on the disk, or,
// where relaxed, with the system, which outlives the tab.
export async function transact(names, mode, job, durability = "strict") {
  opened ??= opening();
  const database = await opened;
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(names, mode, { durability });
    let answer;
    transaction.oncomplete = () => resolve(answer);
    transaction.onabort = () => reject(transaction.error);
    Promise.resolve(job(...names.map((name) => transaction.objectStore(name)))).then(
      (value) => {
        answer = value;
      },
      (error) => {
        transaction.abort();
        reject(error);
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

// Unlike randomUUID this is there without https too.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
