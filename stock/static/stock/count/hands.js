// Keys, taps and the cursor: each is heard once, at the form, and told to the sheet.

// A key that bounces is sooner than this; our choice.
const BOUNCE_MS = 100;

function isLine(target) {
  return Boolean(target?.matches("[data-amount]"));
}

// A key that is held down, or that bounces, is one key: the second Enter would skip the
// next line, or answer a question that nobody has read.
function hearEnter(form, sheet) {
  let enteredAt = -Infinity;
  form.addEventListener("keydown", (event) => {
    const line = isLine(event.target) && sheet.lineOf(event.target);
    if (event.key !== "Enter" || event.isComposing || (!line && !event.repeat)) {
      return;
    }
    event.preventDefault();
    const isBounce = event.timeStamp - enteredAt < BOUNCE_MS;
    enteredAt = event.timeStamp;
    if (line && !event.repeat && !(isBounce && !line.isChanged)) {
      sheet.goOn(line);
    }
  });
}

// Leaving a line keeps it too: nobody need press Enter. Where a press leaves it, what
// is pressed must not move before it is let go: the line is taken just after that.
// Returns a function that takes at once whatever is in hand.
function hearLeaving(form, sheet) {
  let isPressed = false;
  let left = null;
  const take = (field) => {
    if (isLine(field)) {
      sheet.counting.take(sheet.lineOf(field));
      sheet.showTyped();
    }
  };
  const letGo = () => {
    isPressed = false;
    take(left);
    left = null;
  };
  addEventListener("mousedown", () => (isPressed = true), true);
  addEventListener("mouseup", () => setTimeout(letGo), true);
  form.addEventListener("focusout", ({ target }) => {
    left = isLine(target) ? target : left;
    if (!isPressed) {
      letGo();
    }
  });
  return () => {
    letGo();
    take(document.activeElement);
  };
}

export function listen(form, sheet) {
  hearEnter(form, sheet);
  form.addEventListener("input", ({ target }) => isLine(target) && sheet.typed(sheet.lineOf(target)));
  form.addEventListener("focusin", ({ target }) => isLine(target) && sheet.takeInHand(sheet.lineOf(target)));
  form.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-tool], [data-answer]");
    if (button?.dataset.tool) {
      sheet.tap(sheet.lineOf(button), button);
    } else if (button) {
      sheet.answer(sheet.lineOf(button), button);
    }
  });
  return hearLeaving(form, sheet);
}
