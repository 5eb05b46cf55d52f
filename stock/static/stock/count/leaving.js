// No way out of the page is taken before what is in hand is stored.
//
// The browser's own back button cannot be held: there the journal has it already.

const PATIENCE_MS = 3_000;

function leavesPage(event) {
  const link = event.target.closest?.("a[href]");
  const isPlain = !event.button && !event.metaKey && !event.ctrlKey && !event.shiftKey && !event.altKey;
  if (!link || !isPlain || event.defaultPrevented || link.target || link.hasAttribute("download")) {
    return null;
  }
  const isHere = link.href.split("#")[0] === location.href.split("#")[0];
  return isHere ? null : link;
}

export function holdWaysOut(keeping, takeInHand) {
  let go = null;
  let isOff = false; // a form that goes is heard here once more

  // The last way chosen is the one that is taken.
  async function leave(way) {
    const isHeld = go !== null;
    go = way;
    if (!isHeld) {
      await keeping.settled(PATIENCE_MS);
      const chosen = go;
      go = null;
      if (keeping.isSafe) {
        isOff = true;
        chosen();
        isOff = false; // a form that does not go after all is held again
      }
    }
  }

  function hold(event, way) {
    takeInHand();
    if (keeping.isBusy && !isOff) {
      event.preventDefault();
      event.stopPropagation();
      leave(way);
    }
  }

  addEventListener(
    "click",
    (event) => {
      const link = leavesPage(event);
      if (link) {
        hold(event, () => location.assign(link.href));
      }
    },
    true,
  );
  addEventListener(
    "submit",
    (event) => hold(event, () => event.target.requestSubmit(event.submitter)),
    true,
  );
  addEventListener("pagehide", takeInHand);

  // Only what is neither stored nor in the journal is worth a question.
  const ask = (event) => event.preventDefault();
  keeping.addEventListener("change", () => {
    (keeping.isSafe ? removeEventListener : addEventListener)("beforeunload", ask);
  });
}
