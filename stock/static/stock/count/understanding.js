// What a line's text comes to: { reading }, null where blank, or { problem }.

import { read } from "./reading.js";

export function understand(text, line) {
  if (!text.trim()) {
    return { reading: null };
  }
  if (line.data.broken) {
    return { problem: line.data.broken };
  }
  try {
    return { reading: read(text, line.words) };
  } catch (error) {
    if (error.name !== "Unreadable") {
      throw error;
    }
    return { problem: error.message };
  }
}

// What a line speaks of, as one text: the same on every page and every day.
export function lineId(count, place, data) {
  return JSON.stringify([count, place, data.item_id, data.use_by ?? "", data.lot_code]);
}
