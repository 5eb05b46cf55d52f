"""What people say was made, before it is recorded."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from planning.baking.bench import NO_CHANGES, Changes
from stock.models import Bakery


@dataclass(frozen=True, slots=True)
class MakeEntry:
    """So many batches of a recipe were made."""

    recipe_id: int
    batches: Decimal
    key: str  # of whoever may send it twice
    changes: Changes = field(default_factory=lambda: NO_CHANGES)
    planned_batches: float | None = None  # None: nobody looked at a plan
    seen_bake_id: int | None = None  # newest bake that the page knew of
    confirmed: bool = False  # asked about, and it is so


@dataclass(frozen=True, slots=True)
class CakeEntry:
    """A planned cake was baked."""

    planned_id: int
    key: str
    seen_version: int | None = None


@dataclass(frozen=True, slots=True)
class Baker:
    """Who makes something in which bakery, and on which day; None: today."""

    bakery: Bakery
    by_id: int | None = None
    made_on: date | None = None
