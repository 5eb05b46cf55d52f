// Asks about an entry while one still stands at the shelf, by the server's own rules.
//   question(reading, record, words, rules) -> { kind, sentence, instead } or null

import { spelled } from "./echo.js";
import { ZERO, compare, minus, plus, times, toNumber } from "./fractions.js";
import { misreadings, saidSo } from "./readings.js";

function baseOf(terms, words) {
  return terms.reduce((sum, term) => plus(sum, times(term.number, words.base(term.word))), ZERO);
}

class Ruler {
  constructor(record, words, rules) {
    Object.assign(this, { record, words, rules });
    this.expected = Math.max(record.expected_base, 0);
  }

  logRatio(terms, base) {
    const units = terms.map((term) => toNumber(this.words.base(term.word)));
    const grain = Math.max(
      this.rules.grain_of_unit * Math.min(...units),
      this.rules.grain_of_usual * this.record.usual_base,
    );
    return Math.log((toNumber(base) + grain) / (this.expected + grain));
  }

  // How likely an honest count is just there: it strays with heavy tails, or jumps.
  density(terms, base) {
    const { degrees, t_density: middle, jump_share: jumps } = this.rules;
    const ratio = this.logRatio(terms, base);
    const widths = (ratio - this.record.middle) / this.record.width;
    const tail = (1 + widths ** 2 / degrees) ** (-(degrees + 1) / 2);
    return (1 - jumps) * (middle / this.record.width) * tail + (jumps * Math.exp(-Math.abs(ratio))) / 2;
  }

  widthsOff(terms, base) {
    return Math.abs(this.logRatio(terms, base) - this.record.middle) / this.record.width;
  }
}

function likeliest(reading, ruler) {
  const { words, rules } = ruler;
  const off = reading.tare ? baseOf(reading.tare, words) : ZERO;
  let best = null;
  for (const { kind, terms, share } of misreadings(reading.terms, words, rules)) {
    const base = minus(baseOf(terms, words), off);
    if (compare(base, ZERO) >= 0 && compare(base, reading.base) !== 0) {
      const density = share * ruler.density(terms, base);
      if (!best || density > best.density) {
        best = { kind, terms, density, ratio: Math.abs(ruler.logRatio(terms, base)) };
      }
    }
  }
  return best && { ...best, text: spelledOut(best.terms, reading.tare, words) };
}

function spelledOut(terms, tare, words) {
  return spelled(terms, words) + (tare ? ` less ${spelled(tare, words)}` : "");
}

export function question(reading, record, words, rules) {
  if (record.expected_base === null) {
    return null;
  }
  const ruler = new Ruler(record, words, rules);
  const ratio = Math.abs(ruler.logRatio(reading.terms, reading.base));
  if (ratio < rules.least_log) {
    return null;
  }
  const best = likeliest(reading, ruler);
  const entered = ruler.density(reading.terms, reading.base) * saidSo(reading.terms, words, rules);
  if (best && best.density > rules.least_odds * entered) {
    return { kind: best.kind, sentence: `Did you mean ${best.text}?`, instead: best.text };
  }
  return withoutLikely(reading, best, ruler, ratio);
}

function withoutLikely(reading, best, ruler, ratio) {
  const { record, rules, expected } = ruler;
  const { words, not_counted_yet: places } = record;
  const widths = ruler.widthsOff(reading.terms, reading.base);
  if (places.length && toNumber(reading.base) < expected && widths > rules.unusual_widths) {
    const sentence = `That is less than the ${words} on record. Is the rest in ${places.join(" and ")}, which is not counted yet?`;
    return { kind: "place", sentence };
  }
  if (widths <= rules.far_widths || ratio < rules.far_log) {
    return null;
  }
  const instead = best && best.ratio < ratio ? best.text : undefined;
  if (expected <= rules.nearly_empty_fraction * record.usual_base) {
    const sentence = `It was due to be nearly empty: ${words} on record. Look again?`;
    return { kind: "nearly empty", sentence, instead };
  }
  const entered = reading.base.top ? spelled(reading.terms, ruler.words) : "none";
  return { kind: "far off", sentence: `The record says ${words}. Is it ${entered}?`, instead };
}
