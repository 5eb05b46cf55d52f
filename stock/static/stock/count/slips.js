// Asks about an entry while one still stands at the shelf, by the server's own rules.
//   question(reading, record, words, rules) -> { kind, sentence, instead } or null

import { spelled } from "./echo.js";
import { ZERO, compare, minus, plus, times, toNumber } from "./fractions.js";
import { otherReadings } from "./readings.js";

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

  widthsOff(terms, base) {
    return Math.abs(this.logRatio(terms, base) - this.record.middle) / this.record.width;
  }
}

function mostOrdinary(reading, ruler) {
  const off = reading.tare ? baseOf(reading.tare, ruler.words) : ZERO;
  let leastOff = ruler.rules.ordinary_widths;
  let best = null;
  for (const { kind, terms } of otherReadings(reading.terms, ruler.words, ruler.rules.mixed_up_units)) {
    const base = minus(baseOf(terms, ruler.words), off);
    const widths = compare(base, ZERO) < 0 ? Infinity : ruler.widthsOff(terms, base);
    if (widths < leastOff) {
      leastOff = widths;
      best = { kind, terms };
    }
  }
  return best;
}

export function question(reading, record, words, rules) {
  if (record.expected_base === null) {
    return null;
  }
  const ruler = new Ruler(record, words, rules);
  const ratio = Math.abs(ruler.logRatio(reading.terms, reading.base));
  const widths = ruler.widthsOff(reading.terms, reading.base);
  if (widths <= rules.unusual_widths || ratio < rules.least_log) {
    return null;
  }
  const best = mostOrdinary(reading, ruler);
  if (best) {
    const tare = reading.tare ? ` less ${spelled(reading.tare, words)}` : "";
    const instead = spelled(best.terms, words) + tare;
    return { kind: best.kind, sentence: `Did you mean ${instead}?`, instead };
  }
  return withoutReading(reading, ruler, ratio, widths);
}

function withoutReading(reading, { record, rules, expected }, ratio, widths) {
  const { words, not_counted_yet: places } = record;
  if (places.length && toNumber(reading.base) < expected) {
    const sentence = `That is less than the ${words} on record. Is the rest in ${places.join(" and ")}, which is not counted yet?`;
    return { kind: "place", sentence };
  }
  if (widths <= rules.far_widths || ratio < rules.far_log) {
    return null;
  }
  if (expected <= rules.nearly_empty_fraction * record.usual_base) {
    return { kind: "nearly empty", sentence: `It was due to be nearly empty: ${words} on record. Look again?` };
  }
  return { kind: "far off", sentence: `The record says ${words}. Is this right?` };
}
