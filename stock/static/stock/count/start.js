// Starts the sheet on its page, and ties its parts together.

import { wake } from "./device.js";
import { Extra } from "./extra.js";
import { listen } from "./hands.js";
import { holdWaysOut } from "./leaving.js";
import { keepForOffline } from "./offline.js";
import { takeSheet } from "./one_tab.js";
import { opened, watch } from "./person.js";
import { tidy } from "./queue.js";
import { Reporting } from "./reporting.js";
import { restore } from "./restoring.js";
import { Sheet } from "./sheet.js";
import { forgetWhenSeen, tell } from "./telling.js";

const form = document.querySelector("[data-sheet]");
const data = JSON.parse(document.getElementById("count-sheet").textContent);
const sheet = new Sheet(form, data);
sheet.extra = new Extra(sheet, form.querySelector("[data-extra]"));
watch(sheet.by, () => location.replace(data.locked_url));
const reporting = new Reporting(data.devices_url, sheet.by, sheet.count);
form.querySelector("[data-send-page]").hidden = true;

form.addEventListener("submit", (event) => {
  if (form.querySelector("[data-send-page]").hidden) {
    event.preventDefault();
  }
});

const elsewhere = document.querySelector("[data-elsewhere]");
takeSheet(sheet, (isHere) => {
  form.inert = !isHere;
  elsewhere.hidden = isHere;
});

const takeInHand = listen(form, sheet);
holdWaysOut(sheet.keeping, takeInHand);

// From the bar to a line that is typed and not entered.
function goTo(id) {
  const field = document.getElementById(id);
  if (field?.matches("[data-amount]")) {
    field.focus();
  }
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-typed-line]");
  if (link?.pathname === location.pathname) {
    event.preventDefault();
    goTo(link.hash.slice(1));
  }
});

sheet.sending.addEventListener("stand", ({ detail }) => sheet.standing.showWaiting(detail));
sheet.sending.addEventListener("answers", ({ detail }) => {
  sheet.keeping.sent(detail);
  tell(detail);
  sheet.hear(detail);
  reporting.soon();
});
sheet.keeping.addEventListener("change", () => {
  sheet.kept();
  reporting.soon();
});
sheet.keeping.addEventListener("entry", () => sheet.sending.send());

await wake();
const mine = await restore(sheet);
tell(mine);
forgetWhenSeen();
sheet.sending.send();
reporting.report();
goTo(location.hash.slice(1));
form.dataset.ready = "yes";
await opened;
keepForOffline(data.worker_url).catch(() => undefined); // then it needs the network
tidy(sheet.by).catch(() => undefined);
