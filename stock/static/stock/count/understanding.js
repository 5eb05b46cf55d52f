// What a line's text comes to: { reading }, null where blank, or { problem, readings }:
// where it can be read in several ways, all of them, the most likely first.

import { read } from "./reading.js";

export function understand(text, line) {
  if (!text.trim()) {
    return { reading: null };
  }
  if (line.data.broken) {
    return { problem: line.data.broken, readings: [] };
  }
  try {
    return { reading: read(text, line.words) };
  } catch (error) {
    if (error.name !== "Unreadable") {
      throw error;
    }
    return { problem: error.message, readings: error.readings };
  }
}

// What a line speaks of, as one text: the same on every page and every day.
export function lineId(count, place, data) {
  return JSON.stringify([count, place, data.item_id, data.use_by ?? "", data.lot_code]);
}
