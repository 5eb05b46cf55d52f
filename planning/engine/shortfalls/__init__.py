"""Where a shelf runs short, and what could still help."""
