// What was kept on this device before the page was opened, put back into its lines.

import { ask } from "./asking.js";
import { WAITING, all, takeUp, typedLines } from "./queue.js";

// A page from the cache is older than what was taken since; one from the network is
// not. The server's own clock says which; this device's may be wrong.
function isNewer(entry, servedAt) {
  return entry.outcome === WAITING || (entry.outcome === "taken" && entry.answered_at > servedAt);
}

function putBack(line, entry) {
  line.input.value = line.isTouched ? line.input.value : entry.text;
  line.keptText = entry.text;
  line.keptKey = entry.key;
  line.keptTyped = entry.typed ?? entry.text;
  // What the kitchen answered goes before what this phone can tell.
  line.question = "question" in entry ? entry.question : entry.confirmed ? null : line.questionNow();
}

// A line that was added here and only half typed.
function added(sheet, id) {
  const [count, place, item, useBy, lot] = JSON.parse(id);
  const isHere = count === sheet.count && place === sheet.place;
  return isHere && sheet.extra?.addBack({ item, use_by: useBy || null, lot_code: lot });
}

// What this phone has counted elsewhere in the count, as "item place".
function counted(sheet, entries) {
  const names = new Map(Object.entries(sheet.places).map(([name, id]) => [id, name]));
  const last = new Map(entries.map((entry) => [entry.line, entry]));
  const stands = [...last.values()].filter(({ text, outcome }) => text && outcome !== "refused");
  return new Set(stands.map(({ item, place }) => `${item} ${names.get(place)}`));
}

// Where the sheet has no such line any more, the bar above says it.
function putBackTyped(sheet, byId, typed) {
  const line = byId.get(typed.line) ?? added(sheet, typed.line);
  if (!line) {
    sheet.typedLost.add(typed.line);
    sheet.typedElsewhere.push(typed);
  } else if (!line.isTouched && typed.text.trim() !== line.keptText) {
    line.input.value = typed.text;
    line.hear();
    line.sayTyped();
  }
}

export async function restore(sheet) {
  await takeUp(sheet.by).catch(() => undefined); // it is read from the journal then
  const byId = new Map(sheet.lines.map((line) => [line.id, line]));
  const entries = (await all(sheet.by)).filter((entry) => entry.count === sheet.count);
  const here = entries.filter((entry) => entry.place === sheet.place);
  sheet.counted = counted(sheet, entries);
  for (const entry of here.filter((each) => isNewer(each, sheet.served_at))) {
    const line = byId.get(entry.line) ?? sheet.extra?.addBack(entry);
    if (line) {
      byId.set(entry.line, line);
      putBack(line, entry);
    }
  }
  sheet.lines.forEach((line) => line.show());
  sheet.lines.filter((line) => line.question).forEach((line) => ask(line, line.question));
  const typed = await typedLines(sheet.by);
  const isHere = ({ count, place }) => count === sheet.count && place === sheet.place;
  sheet.typedElsewhere = typed.filter((each) => !isHere(each));
  typed.filter(isHere).forEach((each) => putBackTyped(sheet, byId, each));
  sheet.changed();
  return here;
}
