// On every page: opens this phone to whoever is signed in, and locks it on the way out.
//   <body data-person="7" data-locked-url="…" data-sign-out-url="…" data-sign-in-url="…">

import { deviceName } from "./count/device.js";
import { lock, openTo, person } from "./count/person.js";

const PATIENCE_MS = 8_000;
const LEAVING = "count-leaving"; // who signed out where the kitchen did not hear it
const { person: reader, lockedUrl, signOutUrl, signInUrl } = document.body.dataset;

// A page may be older than a sign-out in another tab: the cookie is not.
const signedIn = document.cookie.match(/(?:^|; )person=([0-9]+)/)?.[1];
const here = signedIn === reader ? reader : undefined;

function leaving(id) {
  try {
    id === undefined || (id ? localStorage.setItem(LEAVING, id) : localStorage.removeItem(LEAVING));
    return localStorage.getItem(LEAVING);
  } catch {
    return null;
  }
}

function soon(job) {
  const late = new Promise((resolve) => {
    setTimeout(resolve, 1_000);
  });
  return Promise.race([job, late]).catch(() => undefined);
}

function withDevice(said) {
  said.set("device", deviceName());
  return said;
}

// With the phone's name, so that the kitchen takes its open sheets for closed: what
// they report as they go comes after the session has ended.
async function signOut(form) {
  leaving(reader);
  await soon(lock());
  try {
    const answer = await fetch(form.action, {
      method: "POST",
      body: withDevice(new FormData(form)),
      redirect: "manual",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    if (answer.type === "opaqueredirect") {
      location.replace(signInUrl);
    } else {
      form.submit();
    }
  } catch {
    location.replace(lockedUrl); // no network: it is heard the next time there is one
  }
}

async function signIn(form) {
  if (form.dataset.sent) {
    return;
  }
  form.dataset.sent = "yes";
  await soon(lock({ isOver: false }));
  form.submit();
}

addEventListener(
  "submit",
  (event) => {
    const form = event.target;
    const isOut = form.getAttribute("action") === signOutUrl;
    const isIn = form.matches("[data-sign-in-form]");
    if (isOut || isIn) {
      event.preventDefault();
      event.stopImmediatePropagation();
      (isOut ? signOut : signIn)(form);
    }
  },
  true,
);

// Coming back to a page of somebody who has left meanwhile.
addEventListener("pageshow", ({ persisted }) => {
  if (persisted && reader && ![Number(reader), undefined].includes(person())) {
    location.reload();
  }
});

const signOutForm = document.querySelector(`form[action="${signOutUrl}"]`);
if (document.querySelector("[data-sign-in-form]") && !reader) {
  leaving("");
} else if (here && leaving() === here && signOutForm) {
  signOut(signOutForm);
} else if (here) {
  openTo(Number(here));
}
