"""What could take the place of what no delivery saves, in a sentence each."""

from planning.plan.planner import Planned
from planning.wording.rescue import find_lost_items
from planning.wording.substitutes import find, in_brief


def in_place_sentences(planned: Planned) -> list[str]:
    """Return what the shelves hold of noted substitutes. One query."""
    return in_brief(planned, find(planned, find_lost_items(planned)))
