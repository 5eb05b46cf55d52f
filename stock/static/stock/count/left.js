// What an earlier sheet left waiting on this phone, sent from a page without a sheet.

import { all } from "./queue.js";
import { Sending } from "./sending.js";
import { Standing } from "./standing.js";
import { forgetWhenSeen, tell } from "./telling.js";

const bar = document.querySelector("[data-standing]");
const standing = new Standing(bar);
const sending = new Sending(bar.dataset.entriesUrl);

sending.addEventListener("stand", ({ detail }) => {
  bar.hidden &&= !detail.waiting;
  standing.showWaiting(detail);
});
sending.addEventListener("answers", ({ detail }) => tell(detail));

tell(await all().catch(() => []));
forgetWhenSeen();
sending.send();
