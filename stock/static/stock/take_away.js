// Buttons that only a script can serve: they are hidden until it is here.
//   <button type="button" data-copy="#order-text" hidden>Copy</button>
//   <button type="button" data-print hidden>Print</button>

for (const button of document.querySelectorAll("[data-copy], [data-print]")) {
  const canServe = "print" in button.dataset || navigator.clipboard;
  button.hidden = !canServe;
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-copy], [data-print]");
  if (!button) {
    return;
  }
  if ("print" in button.dataset) {
    window.print();
    return;
  }
  const source = document.querySelector(button.dataset.copy);
  await navigator.clipboard.writeText(source.value ?? source.textContent);
  button.textContent = "Copied";
});
