// What "More" opened is closed by a tap beside it, and by Escape.

const more = document.querySelector(".menu-more");

function close() {
  more?.removeAttribute("open");
}

document.addEventListener("click", ({ target }) => more?.contains(target) || close());
document.addEventListener("keydown", ({ key }) => {
  if (key === "Escape" && more?.open) {
    more.querySelector("summary").focus();
    close();
  }
});
