// The slip question under a line: kindly, with one tap for either reading.

function choice(label, name, asked) {
  const button = document.createElement("button");
  button.type = "button";
  button.dataset.answer = name;
  button.dataset.asked = asked;
  button.textContent = label;
  return button;
}

export function ask(line, slip) {
  settle(line);
  line.question = slip;
  const said = (text) => line.words.named(text);
  const box = document.createElement("div");
  box.className = "count-ask";
  box.setAttribute("role", "group");
  box.setAttribute("aria-label", `A question about ${line.name}`);
  const words = document.createElement("p");
  words.textContent = said(slip.sentence);
  const row = document.createElement("div");
  row.className = "button-row";
  row.append(choice(`It is ${said(slip.entered)}`, "as entered", slip.kind));
  if (slip.instead) {
    const instead = choice(`I meant ${said(slip.instead)}`, "instead", slip.kind);
    instead.dataset.text = slip.instead;
    row.append(instead);
  }
  box.append(words, row);
  line.echo.after(box);
  line.asking = box;
  return box;
}

// What may mean several things: a tap says which.
export function askWhich(line, readings) {
  if (line.asking?.dataset.about === line.input.value) {
    return; // a tap on it leaves the field, which asks again
  }
  settle(line);
  if (!readings.length) {
    return;
  }
  const box = document.createElement("div");
  box.className = "count-ask";
  box.dataset.about = line.input.value;
  box.setAttribute("role", "group");
  box.setAttribute("aria-label", `What ${line.input.value} of ${line.name} means`);
  const row = document.createElement("div");
  row.className = "button-row";
  for (const reading of readings) {
    const button = choice(line.words.named(reading), "meant", "");
    button.dataset.text = reading;
    row.append(button);
  }
  box.append(row);
  line.echo.after(box);
  line.asking = box;
}

export function settle(line) {
  line.question = null;
  line.asking?.remove();
  line.asking = null;
}
