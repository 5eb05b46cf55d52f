"""Holds: setting a lot aside with a reason, releasing it, and what it went into."""
