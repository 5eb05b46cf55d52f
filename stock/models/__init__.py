"""The tables of the stock app; each subject has its module."""

from stock.models.bakery import Bakery
from stock.models.counts import (
    Count,
    CountDecision,
    CountDevice,
    CountEntry,
    CountPlace,
    CountResult,
    CountTyped,
)
from stock.models.holds import Hold
from stock.models.items import Item
from stock.models.ledger import Balance, Confirmation, Lot, Movement
from stock.models.moves import Move
from stock.models.places import Place
from stock.models.substitutes import Substitute
from stock.models.suppliers import Pack, Supplier
from stock.models.tares import Tare
from stock.models.waste import Waste

__all__ = [
    "Bakery",
    "Balance",
    "Confirmation",
    "Count",
    "CountDecision",
    "CountDevice",
    "CountEntry",
    "CountPlace",
    "CountResult",
    "CountTyped",
    "Hold",
    "Item",
    "Lot",
    "Move",
    "Movement",
    "Pack",
    "Place",
    "Substitute",
    "Supplier",
    "Tare",
    "Waste",
]
