"""Commands of the planning app: they refuse in the words of both apps."""

from planning.errors import PlanningError
from stock.errors import StockError
from stock.management.plain_command import PlainCommand


class PlanningCommand(PlainCommand):
    """A command that may refuse what either app refuses."""

    refusals = (StockError, PlanningError)
