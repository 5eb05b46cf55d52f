// How the count stands: what is left here, and what waits on this phone.

const TROUBLES = {
  offline: "No network here: go on counting, they are sent by themselves later.",
  "signed out": "Sign in again and they are sent; nothing is lost.",
  refused: "The kitchen could not take them yet; they stay here and are tried again.",
};

export function waitingWords({ waiting, trouble }) {
  if (!waiting) {
    return "Everything is sent.";
  }
  const entries = waiting === 1 ? "1 entry waits" : `${waiting} entries wait`;
  return `${entries} on this phone. ${TROUBLES[trouble] ?? ""}`.trim();
}

export function leftWords(left, all) {
  return left ? `${left} of ${all} left` : `All ${all} counted`;
}

export class Standing {
  constructor(bar) {
    this.bar = bar;
    this.inHand = 0; // entries on their way to the disk
    this.left = bar.querySelector("[data-left]");
    this.waiting = bar.querySelector("[data-waiting]");
    this.heard = bar.querySelector("[data-heard]");
    this.signIn = bar.querySelector("[data-sign-in]");
  }

  // Who does not look at the line hears it, once it is taken and not at every letter.
  tell(line) {
    this.heard.textContent = `${line.name}: ${line.echo.textContent}`;
  }

  showLeft(lines) {
    const left = lines.filter((line) => !line.isCounted).length;
    this.left.textContent = leftWords(left, lines.length);
  }

  // Ears are told what waits only when that says something new.
  showWaiting(stand) {
    const words = waitingWords(stand);
    const isSent = !stand.waiting && !stand.again && !this.inHand;
    this.bar.dataset.stand = isSent ? "sent" : "waiting";
    if (this.waiting.textContent !== words && (isSent || stand.waiting)) {
      this.waiting.textContent = words;
    }
    this.signIn.hidden = stand.trouble !== "signed out";
  }

  keeping(change) {
    this.inHand += change;
    this.bar.dataset.stand = "waiting";
  }
}
