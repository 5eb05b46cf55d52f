// A line at the door: one pack more or fewer by a tap, and what is missing of it.
//   <button type="button" data-step="-1" hidden>, <input data-packs="2">,
//   <p data-missing hidden>

function tell(field) {
  const words = field.form.querySelector("[data-missing]");
  const missing = Number(field.dataset.packs) - Number(field.value);
  words.hidden = !(field.value.trim() && missing > 0);
  words.textContent = `${missing} of ${field.dataset.packs} missing.`;
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-step]");
  if (!button) {
    return;
  }
  const field = button.form.querySelector("[data-packs]");
  const packs = Number.parseInt(field.value, 10) || 0;
  field.value = Math.max(0, packs + Number(button.dataset.step));
  tell(field);
});

document.addEventListener("input", (event) => {
  if (event.target.matches("[data-packs]")) {
    tell(event.target);
  }
});

function ready() {
  for (const button of document.querySelectorAll("[data-step]")) {
    button.hidden = false;
  }
  for (const field of document.querySelectorAll("[data-packs]")) {
    tell(field);
  }
}

// Scanning shows the page anew without loading it.
document.addEventListener("page-shown", ready);
ready();
