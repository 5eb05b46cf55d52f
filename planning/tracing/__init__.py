"""Where lots came from and what they went into: read from what was recorded."""
