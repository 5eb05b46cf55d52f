"""What could take the place of what no delivery saves, in a sentence each."""

from planning.planner import Planned
from planning.rescue import find_lost_items
from planning.stand_ins import find, in_brief


def in_place_sentences(planned: Planned) -> list[str]:
    """Return what the shelves hold of noted substitutes. One query."""
    return in_brief(planned, find(planned, find_lost_items(planned)))
