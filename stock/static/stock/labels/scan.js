// A hand scanner types a label and presses Enter, at times twice, and the next label
// may come before the answer to the last one. Labels are sent one after the other; the
// field stays where it is, so that nothing typed meanwhile gets lost.
//   <form data-scan>, <input data-scan-text>, <input type="hidden" data-scan-key>

const SEPARATOR = "\u241d"; // the picture of ASCII 29, which keyboards type as Ctrl+]
const waiting = [];
let busy = false;

function field() {
  return document.querySelector("[data-scan-text]");
}

function newKey() {
  const numbers = crypto.getRandomValues(new Uint32Array(4));
  return Array.from(numbers, (each) => each.toString(16)).join("-");
}

// Show the page of an answer, with the field that is being typed into.
function show(html, address) {
  const found = new DOMParser().parseFromString(html, "text/html");
  const page = found.querySelector("#page");
  for (const link of found.querySelectorAll('head link[rel="stylesheet"]')) {
    if (!document.head.querySelector(`link[href="${link.getAttribute("href")}"]`)) {
      document.head.append(link);
    }
  }
  const kept = field();
  const theirs = page.querySelector("[data-scan-text]");
  if (theirs && kept) {
    kept.value ||= theirs.value;
    theirs.replaceWith(kept);
  }
  document.querySelector("#page").replaceWith(page);
  document.title = found.title;
  history.replaceState(null, "", address);
  if (theirs && kept) {
    kept.focus();
    if (kept.value === theirs.value) {
      kept.select();
    }
  }
  document.dispatchEvent(new CustomEvent("page-shown"));
}

function failed(text) {
  const at = field();
  at.value ||= text;
  at.setCustomValidity("No answer. Check the connection, then scan it again.");
  at.reportValidity();
  at.select();
}

async function send() {
  if (busy) {
    return;
  }
  busy = true;
  while (waiting.length) {
    const { text, key } = waiting.shift();
    const form = document.querySelector("form[data-scan]");
    if (!form) {
      break; // the order is done: what was scanned after it is none of its
    }
    const data = new FormData(form);
    data.set("label", text);
    data.set("key", key);
    try {
      const answer = await fetch(form.action, { method: "POST", body: data });
      show(await answer.text(), answer.url.replace(/\/scan\/$/, "/receive/"));
    } catch {
      waiting.length = 0;
      failed(text);
    }
  }
  busy = false;
}

document.addEventListener("keydown", (event) => {
  const at = event.target;
  if (at.matches?.("[data-scan-text]") && event.ctrlKey && event.key === "]") {
    event.preventDefault();
    at.setRangeText(SEPARATOR, at.selectionStart, at.selectionEnd, "end");
  }
});

document.addEventListener("input", (event) => {
  if (event.target.matches("[data-scan-text]")) {
    event.target.setCustomValidity("");
  }
});

document.addEventListener(
  "submit",
  (event) => {
    if (!event.target.matches("form[data-scan]")) {
      return;
    }
    event.preventDefault();
    const at = field();
    if (at.value.trim()) {
      waiting.push({ text: at.value, key: newKey() });
      at.value = "";
      send();
    }
  },
  { capture: true },
);

// After a label the next one is expected; a phone's keyboard stays down before that.
if (field()?.autofocus) {
  field().select();
}
