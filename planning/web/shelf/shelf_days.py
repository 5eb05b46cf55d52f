"""An item's days as the shelf line shows them: plain values, no queries.

Amounts are in the item's own base unit, shown by the suffix `_base`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

Amount = float | Decimal


@dataclass(frozen=True, slots=True)
class ShelfDay:
    """One day of an item: what it does to the shelf, and whether that is enough."""

    on: date
    closing_base: Amount
    received_base: Amount
    used_base: Amount
    expired_base: Amount
    is_short: bool
    below_safety: bool
    is_par_day: bool = False
    below_par: bool = False  # par is asked for and not kept


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """An item's days, with the levels it is held to.

    `unit_words` names the base unit (`g`). `safety_words` and `par_words` say the
    levels as people hold the item (`2 lb`), `say` any other amount of it; left out, the
    base amount is said.
    """

    item_name: str
    unit_words: str
    days: tuple[ShelfDay, ...]
    safety_base: Amount | None = None
    par_base: Amount | None = None
    safety_words: str = ""
    par_words: str = ""
    say: Callable[[float], str] | None = None
