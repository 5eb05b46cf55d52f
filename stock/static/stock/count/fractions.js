// Exact fractions of whole numbers, as BigInt pairs: nothing is ever rounded but once.

export const ZERO = { top: 0n, bottom: 1n };

function divisor(a, b) {
  return b ? divisor(b, a % b) : a;
}

export function fraction(top, bottom = 1n) {
  const common = divisor(top < 0n ? -top : top, bottom) || 1n;
  return { top: top / common, bottom: bottom / common };
}

// "3", "7/4", "0.25" as the server writes them.
export function fromText(text) {
  const [top, bottom] = text.split("/");
  const [whole, places = ""] = top.split(".");
  return fraction(BigInt(whole + places), BigInt(bottom ?? 1) * 10n ** BigInt(places.length));
}

export function plus(a, b) {
  return fraction(a.top * b.bottom + b.top * a.bottom, a.bottom * b.bottom);
}

export function minus(a, b) {
  return plus(a, { top: -b.top, bottom: b.bottom });
}

export function times(a, b) {
  return fraction(a.top * b.top, a.bottom * b.bottom);
}

export function over(a, b) {
  return fraction(a.top * b.bottom, a.bottom * b.top);
}

export function compare(a, b) {
  const difference = a.top * b.bottom - b.top * a.bottom;
  return difference < 0n ? -1 : difference > 0n ? 1 : 0;
}

// Halves away from zero, as the ledger rounds.
export function rounded(a, places) {
  const scale = 10n ** BigInt(places);
  const size = ((a.top < 0n ? -a.top : a.top) * scale * 2n + a.bottom) / (a.bottom * 2n);
  const digits = size.toString().padStart(places + 1, "0");
  const sign = a.top < 0n && size ? "-" : "";
  if (!places) {
    return sign + digits;
  }
  return `${sign}${digits.slice(0, -places)}.${digits.slice(-places)}`;
}

export function toLedger(a) {
  return rounded(a, 4);
}

// In decimals, 0.893; null where they would never end.
export function inDecimals(a) {
  let rest = a.bottom;
  let places = 0;
  for (const prime of [2n, 5n]) {
    let power = 0;
    for (; rest % prime === 0n; power += 1) {
      rest /= prime;
    }
    places = Math.max(places, power);
  }
  return rest === 1n ? rounded(a, places) : null;
}

// As people write it: 3, 1 3/4, or 0.893 where the decimals end.
export function inWords(a) {
  const whole = a.top / a.bottom;
  const rest = a.top % a.bottom;
  const decimal = [2n, 3n, 4n, 8n].includes(a.bottom) ? null : inDecimals(a);
  if (decimal !== null || !rest) {
    return decimal ?? whole.toString();
  }
  return `${whole ? `${whole} ` : ""}${rest}/${a.bottom}`;
}

export function toNumber(a) {
  return Number(a.top) / Number(a.bottom);
}
