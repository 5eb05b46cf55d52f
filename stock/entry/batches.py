"""What the sheets of one batch share: their faults, and what is to be worked out again.

Pure: no Django. A batch is kept altogether or not at all; see `stock.saving.upsert`.
"""

from dataclasses import dataclass, field

from stock.entry.entries import Fault, Key
from stock.measures.conversion import Converter


@dataclass(frozen=True, slots=True)
class Origin:
    """The cell that brought a change."""

    sheet: str
    row: int
    column: str


@dataclass(slots=True)
class Batch:
    """One or several sheets that are kept together or not at all."""

    _faults: dict[Origin, Fault] = field(default_factory=dict)
    # Names that a faulty row would have added: asking for one is no further fault.
    refused: set[tuple[str, Key]] = field(default_factory=set)
    # What names of sheets that are still to come stand for: `a part`, `a recipe`.
    elsewhere: dict[str, str] = field(default_factory=dict)
    # Items whose units came to mean something else, and by which cell.
    remeasured: dict[int, Origin] = field(default_factory=dict)
    # What was compiled to check an item, by all that it says: it takes a while.
    compiled: dict[tuple[str, ...], Converter] = field(default_factory=dict)
    # Cells with an item's own levels, which are worked out when the batch closes.
    levels: dict[tuple[int, str], Origin] = field(default_factory=dict)

    def fault(self, origin: Origin, message: str) -> None:
        """Note what is wrong with a cell; the first sentence for a cell stands."""
        fault = Fault(origin.row, origin.column, message, origin.sheet)
        self._faults.setdefault(origin, fault)

    @property
    def faults(self) -> list[Fault]:
        """What is wrong, sheet by sheet and row by row."""
        sheets = list(dict.fromkeys(origin.sheet for origin in self._faults))
        return sorted(
            self._faults.values(),
            key=lambda fault: (sheets.index(fault.sheet), fault.row),
        )

    def remeasure(self, item_id: int, origin: Origin) -> None:
        """Note that an item's units may come to something else now."""
        self.remeasured.setdefault(item_id, origin)
