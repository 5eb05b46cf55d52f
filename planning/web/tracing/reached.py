"""What a lot reached, for its own page."""

from planning.tracing.trace import Start, StartKind, read_trace
from planning.wording.trace_words import reached_words


def lot_reached(lot_id: int) -> str:
    """Return which cakes a lot went into, through every batch. See `read_trace`."""
    return reached_words(read_trace(Start(StartKind.LOT, lot_id)))
