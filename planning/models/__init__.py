"""The tables of the planning app; each subject has its module."""

from planning.models.answers import Answer
from planning.models.bakeplan import PlannedCake
from planning.models.bakes import Bake, BakeLine
from planning.models.deliveries import Delivery, DeliveryLine
from planning.models.feeds import CalendarFeed
from planning.models.order_numbers import LastNumber
from planning.models.orders import Order, OrderLine, OrderStep
from planning.models.recipes import Recipe, RecipeLine
from planning.models.revisions import Revision, RevisionLine
from planning.models.searches import OrderSearch
from planning.models.tickets import CakeTicket

__all__ = [
    "Answer",
    "Bake",
    "BakeLine",
    "CakeTicket",
    "CalendarFeed",
    "Delivery",
    "DeliveryLine",
    "LastNumber",
    "Order",
    "OrderLine",
    "OrderSearch",
    "OrderStep",
    "PlannedCake",
    "Recipe",
    "RecipeLine",
    "Revision",
    "RevisionLine",
]
