// The browser knows its own time zone: it is offered, and whoever looks decides.

const field = document.querySelector("[data-browser-zone]");
const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
if (field && zone && zone !== "UTC") {
  field.value = zone;
}
