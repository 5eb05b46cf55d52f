// One sheet is in hand in one tab. What is typed on a line and not entered is kept once
// a person: two tabs that both typed there would each replace what the other has.

const GRANTED_WITHIN_MS = 1_000; // a tab that is left lets go only when it is gone

// Calls back with whether this tab has the sheet; then waits for it. Once another tab has
// let go this one is loaded anew, for it may show less than was said there.
export function takeSheet({ by, count, place }, show) {
  if (!navigator.locks) {
    show(true); // no tab can know of another here
    return;
  }
  let isLate = false;
  const late = setTimeout(() => {
    isLate = true;
    show(false);
  }, GRANTED_WITHIN_MS);
  navigator.locks.request(`count-in-hand ${by} ${count} ${place}`, () => {
    clearTimeout(late);
    isLate ? location.reload() : show(true);
    return new Promise(() => undefined); // it goes with its tab
  });
}
