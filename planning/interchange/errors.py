"""What can go wrong with a kitchen's files, each with the way out."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from planning.errors import PlanningError


@dataclass(frozen=True, slots=True)
class CellFault:
    """What is wrong with one cell: `Recipe lines!C14`, and a sentence."""

    cell: str
    message: str

    def __str__(self) -> str:
        return " ".join(f"{self.cell}: {self.message}".split())


class KitchenFaultsError(PlanningError):
    """Some cells of a kitchen cannot be taken; nothing was stored."""

    def __init__(self, faults: Iterable[CellFault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class KitchenMovedOnError(PlanningError):
    """What would be stored is no longer what was looked at."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Somebody has changed the kitchen in the meantime, so this would come "
                "to something else. Nothing was stored; look at it again."
            )
        )


class KitchenFileError(PlanningError):
    """A file or a folder from which no kitchen can be read at all."""


class KitchenOutError(PlanningError):
    """A place where no file with the kitchen can be written."""
