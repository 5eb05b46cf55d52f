"""The kinds of cells that only a plan knows: the size of a cake."""

from dataclasses import dataclass

from planning.engine.demand import geometry
from planning.errors import PlanningError
from stock.entry.cells import CellError, Text


@dataclass(frozen=True, slots=True)
class Size(Text):
    """Tiers joined by +, kept as typed: `6 in round x 3 + 8 in round x 3`."""

    def parse(self, value: object) -> str:
        """Return the size as typed."""
        text = Text.parse(self, value)
        try:
            geometry.parse_size(text)
        except PlanningError as error:
            raise CellError(str(error)) from error
        return text
