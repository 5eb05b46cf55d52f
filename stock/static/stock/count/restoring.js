// What was kept on this device before the page was opened, put back into its lines.

import { ask } from "./asking.js";
import { all, drafts, WAITING } from "./queue.js";

// A page from the cache is older than what was taken since; one from the network is
// not. The server's own clock says which; this device's may be wrong.
function isNewer(entry, servedAt) {
  return entry.outcome === WAITING || (entry.outcome === "taken" && entry.answered_at > servedAt);
}

function putBack(line, entry) {
  line.input.value = entry.text;
  line.keptText = entry.text;
  line.keptKey = entry.key;
  // What the kitchen answered goes before what this phone can tell.
  line.question = "question" in entry ? entry.question : entry.confirmed ? null : line.questionNow();
}

// A line that was added here and only half typed.
function added(sheet, id) {
  const [count, place, item, useBy, lot] = JSON.parse(id);
  const isHere = count === sheet.count && place === sheet.place;
  return isHere && sheet.extra?.addBack({ item, use_by: useBy || null, lot_code: lot });
}

export async function restore(sheet) {
  const byId = new Map(sheet.lines.map((line) => [line.id, line]));
  const mine = (await all()).filter(
    (entry) => entry.count === sheet.count && entry.place === sheet.place && entry.by === sheet.by,
  );
  for (const entry of mine.filter((each) => isNewer(each, sheet.served_at))) {
    const line = byId.get(entry.line) ?? sheet.extra?.addBack(entry);
    if (line) {
      byId.set(entry.line, line);
      putBack(line, entry);
    }
  }
  sheet.lines.forEach((line) => line.show());
  sheet.lines.filter((line) => line.question).forEach((line) => ask(line, line.question));
  for (const { line: id, text } of await drafts()) {
    const line = byId.get(id) ?? added(sheet, id);
    if (line) {
      line.input.value = text;
      line.hear();
      line.say(`${line.echo.textContent} Typed, not entered yet: go to it and press Enter.`.trim());
    }
  }
  sheet.changed();
  return mine;
}
