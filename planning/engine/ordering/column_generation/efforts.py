"""How hard to look for better orders, and what is said on the way.

Work is limited by counts, so that the same kitchen gets the same orders; the seconds
are only a last resort.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Effort:
    """The limits of a search."""

    seconds: float
    rounds: int  # of pricing every item
    choices: int  # whole choices among what was found
    nodes: int  # of the tree of each such choice
    columns: int  # schedules an item in it
    parts: int  # into which the question is split for the proof
    part_rounds: int = 8  # of pricing in each part
    changes_an_item: int = 25_000  # in each choice by chance
    most_columns: int = 2_500  # in a choice by an integer programme
    dive_rounds: int = 4  # after each step of a dive
    steadiness: float = 0.6  # how much of the best prices so far new ones keep
    close_enough: float = 1e-4  # bound to master, in parts of the cost


QUICK = Effort(
    seconds=5,
    rounds=30,
    choices=1,
    nodes=500,
    columns=8,
    parts=10,
    changes_an_item=5_000,
)
USUAL = Effort(seconds=60, rounds=60, choices=2, nodes=5_000, columns=10, parts=400)
THOROUGH = Effort(
    seconds=240,
    rounds=200,
    choices=4,
    nodes=50_000,
    columns=16,
    parts=4_000,
    changes_an_item=75_000,
)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come."""

    stage: str
    paid: float  # goods and fees of the best orders so far
    gap: float  # infinite as long as nothing is proven
