"""Noting what a cake's ticket says, so that a later change is seen."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.errors import PlanningError
from planning.models import CakeTicket, PlannedCake
from planning.tracing.contents import CakeContents, cake_contents
from stock.items.allergens import AllergenChange, allergen_change
from stock.saving import upsert
from stock.saving.versions import check_seen

SEPARATOR = "; "


class TicketChangedError(PlanningError):
    """A label or a bake changed what is in the cake after its ticket was shown."""

    def __init__(self) -> None:
        super().__init__(
            _("What is in it changed since this page was opened. Print it again.")
        )


@transaction.atomic
def note_ticket(
    planned_id: int,
    *,
    shown: str,
    seen: int | None = None,
    by_id: int | None = None,
) -> CakeTicket:
    """Note what the printed ticket of a planned cake says; return it.

    `shown` is what stands on the paper, as `contains_text` says it, and `seen` the
    cake's version: where either is otherwise now the paper is out of date, and is
    refused. Where the newest ticket says the same nothing is written. What is in the
    cake is read after its lock, so no bake comes between.
    """
    planned = upsert.hold(PlannedCake, planned_id)
    check_seen(planned, seen)
    contains = contains_text(cake_contents(planned))
    if contains != shown:
        raise TicketChangedError
    newest = newest_ticket(planned_id)
    if newest is not None and newest.contains == contains:
        return newest
    return CakeTicket.objects.create(
        planned_cake=planned,
        contains=contains,
        printed_at=timezone.now(),
        printed_by_id=by_id,
    )


def newest_ticket(planned_id: int) -> CakeTicket | None:
    """Return what was printed last of a cake; None if never. One query."""
    rows = CakeTicket.objects.filter(planned_cake=planned_id)
    return rows.select_related("printed_by").first()


def changed_since(ticket: CakeTicket, contents: CakeContents) -> AllergenChange:
    """Return what a cake's labels say now and its ticket did not, and the reverse."""
    return allergen_change(ticket.contains, contains_text(contents))


def contains_text(contents: CakeContents) -> str:
    """Return the allergens on a ticket, as they are kept: milk; wheat."""
    return SEPARATOR.join(contents.allergens)
