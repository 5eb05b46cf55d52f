// Something that the sheet does not list: found here, or with another use-by date.

function byName(others, name) {
  const wanted = name.trim().toLowerCase();
  return others.find((other) => other.item.toLowerCase() === wanted);
}

export class Extra {
  constructor(sheet, box) {
    this.sheet = sheet;
    this.box = box;
    this.name = box.querySelector("[data-extra-item]");
    this.useBy = box.querySelector("[data-extra-use-by]");
    this.lot = box.querySelector("[data-extra-lot]");
    this.problem = box.querySelector("[data-extra-problem]");
    this.template = document.getElementById("count-line");
    box.querySelector("[data-extra-add]").hidden = false;
    box.querySelector("[data-extra-amount]").hidden = true;
    box.addEventListener("click", (event) => event.target.closest("[data-extra-add]") && this.add());
    box.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        this.add();
      }
    });
  }

  // The words of every item; read from the page only when they are needed.
  get items() {
    this.known ??= JSON.parse(document.getElementById("count-items").textContent);
    return [...this.sheet.lines.map((line) => line.data), ...this.known];
  }

  add() {
    const known = byName(this.items, this.name.value);
    if (!known) {
      this.problem.textContent = this.name.value.trim()
        ? `No item is called “${this.name.value.trim()}”. Choose one of the list, or add it on the Shelves page first.`
        : "Write what you found.";
      this.name.focus();
      return;
    }
    const problem = this.useByProblem();
    if (problem) {
      this.problem.textContent = problem;
      this.useBy.focus();
      return;
    }
    const [useBy, lot] = [this.useBy.value || null, this.lot.value.trim()];
    const line = this.listed(known, useBy, lot) ?? this.show(known, useBy, lot);
    this.problem.textContent = this.name.value = this.useBy.value = this.lot.value = "";
    line.input.focus();
  }

  // What is wrong with the use-by: half a date, or a year that nobody can mean.
  useByProblem() {
    const { value, min, max, validity } = this.useBy;
    if (validity.badInput) return "Use by: Write the whole date, or clear it.";
    if (!validity.rangeUnderflow && !validity.rangeOverflow) return "";
    return `Use by: ${value} is too far away. Write a year from ${min.slice(0, 4)} to ${max.slice(0, 4)}.`;
  }

  listed({ item_id: id }, useBy, lot) {
    return this.sheet.lines.find(
      ({ data }) => data.item_id === id && data.use_by === useBy && data.lot_code === lot,
    );
  }

  show(known, useBy, lot) {
    const node = this.template.content.firstElementChild.cloneNode(true);
    const id = `line-added-${this.sheet.lines.length}`;
    node.querySelector("[data-name]").textContent = known.item.charAt(0).toUpperCase() + known.item.slice(1);
    node.querySelector("[data-lot]").textContent = [useBy && `use by ${useBy}`, lot && `lot ${lot}`].filter(Boolean).join(", ");
    node.querySelector("label").htmlFor = node.querySelector("input").id = id;
    node.querySelector("[data-echo]").id = `${id}-echo`;
    node.querySelector("input").setAttribute("aria-describedby", `${id}-echo`);
    this.sheet.form.querySelector("[data-lines]").append(node);
    const nothing = { use_by: useBy, lot_code: lot, mine: null, others: [], on_record: "" };
    const record = { ...known.record, expected_base: null };
    const line = this.sheet.add(node, { ...known, ...nothing, record });
    this.sheet.changed();
    return line;
  }

  // An added line that was kept before the page was opened again.
  addBack(entry) {
    const known = this.items.find((other) => other.item_id === entry.item);
    return known && this.show(known, entry.use_by, entry.lot_code);
  }
}
