// Starts the sheet on its page: every key and tap is heard once, at the form.

import { Extra } from "./extra.js";
import { keepForOffline } from "./offline.js";
import { tidy } from "./queue.js";
import { restore } from "./restoring.js";
import { Sheet } from "./sheet.js";
import { forgetWhenSeen, tell } from "./telling.js";

const form = document.querySelector("[data-sheet]");
const data = JSON.parse(document.getElementById("count-sheet").textContent);
const sheet = new Sheet(form, data);
sheet.extra = new Extra(sheet, form.querySelector("[data-extra]"));
form.querySelector("[data-send-page]").hidden = true;

form.addEventListener("submit", (event) => {
  if (form.querySelector("[data-send-page]").hidden) {
    event.preventDefault();
  }
});

form.addEventListener("keydown", (event) => {
  const line = event.target.matches("[data-amount]") && sheet.lineOf(event.target);
  if (line && event.key === "Enter" && !event.isComposing) {
    event.preventDefault();
    sheet.goOn(line);
  }
});

form.addEventListener("input", (event) => {
  if (event.target.matches("[data-amount]")) {
    sheet.typed(sheet.lineOf(event.target));
  }
});

form.addEventListener("focusin", (event) => {
  if (event.target.matches("[data-amount]")) {
    sheet.takeInHand(sheet.lineOf(event.target));
  }
});

// Leaving a line keeps it too: nobody need press Enter.
form.addEventListener("focusout", (event) => {
  if (event.target.matches("[data-amount]")) {
    sheet.counting.take(sheet.lineOf(event.target));
  }
});

form.addEventListener("click", (event) => {
  const button = event.target.closest("[data-tool], [data-answer]");
  if (button?.dataset.tool) {
    sheet.tap(sheet.lineOf(button), button);
  } else if (button) {
    sheet.answer(sheet.lineOf(button), button);
  }
});

sheet.sending.addEventListener("stand", ({ detail }) => sheet.standing.showWaiting(detail));
sheet.sending.addEventListener("answers", ({ detail }) => {
  tell(detail);
  sheet.hear(detail);
});

const mine = await restore(sheet).catch((error) => {
  sheet.cannotKeep(error);
  return [];
});
tell(mine);
forgetWhenSeen();
sheet.sending.send();
keepForOffline(data.worker_url).catch(() => undefined); // then it needs the network
tidy().catch(() => undefined);
form.dataset.ready = "yes";
