// The camera reads labels where the browser itself can; else its button stays hidden.
//   <button data-scan-camera hidden> in a <form data-scan>

const FORMATS = ["code_128", "data_matrix", "qr_code", "ean_13", "ean_8", "upc_a", "itf"];
const EVERY_MS = 250;
let stream = null;

function stop() {
  for (const track of stream?.getTracks() ?? []) {
    track.stop();
  }
  stream = null;
  document.querySelector("form[data-scan] video")?.remove();
}

async function look(form) {
  const video = document.createElement("video");
  video.playsInline = true;
  video.muted = true;
  video.srcObject = stream;
  form.append(video);
  await video.play();
  const known = await globalThis.BarcodeDetector.getSupportedFormats();
  const formats = FORMATS.filter((each) => known.includes(each));
  const detector = new globalThis.BarcodeDetector({ formats });
  while (stream) {
    const [found] = await detector.detect(video);
    if (found) {
      stop();
      form.querySelector("[data-scan-text]").value = found.rawValue;
      form.requestSubmit();
      return;
    }
    await new Promise((done) => setTimeout(done, EVERY_MS));
  }
}

async function toggle(button) {
  if (stream) {
    stop();
    return;
  }
  const form = button.form;
  const at = form.querySelector("[data-scan-text]");
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      video: { facingMode: "environment" },
    });
    await look(form);
  } catch {
    stop();
    at.setCustomValidity("The camera can't be used here. Scan or type the label.");
    at.reportValidity();
  }
}

function ready() {
  const can = "BarcodeDetector" in globalThis && navigator.mediaDevices;
  for (const button of document.querySelectorAll("[data-scan-camera]")) {
    button.hidden = !can;
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-scan-camera]");
  if (button) {
    toggle(button);
  }
});
document.addEventListener("page-shown", ready);
addEventListener("pagehide", stop);
ready();
