// On the pages of a count without a sheet: what is left on this phone of whoever is
// signed in is sent from here too, and what is typed and not entered is said.

import { wake } from "./device.js";
import { watch } from "./person.js";
import { all, takeUp, typedLines } from "./queue.js";
import { Reporting } from "./reporting.js";
import { Sending } from "./sending.js";
import { Standing } from "./standing.js";
import { forgetWhenSeen, tell } from "./telling.js";

const bar = document.querySelector("[data-standing]");
const { entriesUrl, devicesUrl, lockedUrl } = bar.dataset;
const by = Number(bar.dataset.by);
const closed = Number(bar.dataset.closed); // the count of this page, if it is over
const standing = new Standing(bar);
const sending = new Sending(entriesUrl, by);
const reporting = new Reporting(devicesUrl, by, null);

sending.addEventListener("stand", ({ detail }) => {
  bar.hidden &&= !detail.waiting;
  standing.showWaiting(detail);
});
sending.addEventListener("answers", ({ detail }) => {
  tell(detail);
  reporting.soon();
});

watch(by, () => location.replace(lockedUrl));
await wake();
await takeUp(by).catch(() => undefined); // it is read from the journal then
tell(await all(by));
forgetWhenSeen();
standing.showTyped(await typedLines(by), ({ count }) => count === closed);
sending.send();
reporting.report();
