// Small comforts for forms; every form works without them.

// After a refused entry, the cursor stands in the first field that needs a look.
const faulty = document.querySelector('[aria-invalid="true"]');
if (faulty) {
  faulty.focus();
}

// A second tap on the same button does not send the form twice.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") {
    return;
  }
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  const button = event.submitter;
  if (button) {
    button.setAttribute("aria-disabled", "true");
  }
});

// Coming back with the browser's own button: the form may be sent again.
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll('[aria-disabled="true"]')) {
      button.removeAttribute("aria-disabled");
    }
  }
});
