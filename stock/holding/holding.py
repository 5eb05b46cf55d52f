"""Setting a lot aside, and releasing it: the jobs."""

from django.db import transaction

from stock.holding.errors import HeldAlreadyError, NoReasonError
from stock.holding.wording import lot_words
from stock.ledger import ledger
from stock.models import Hold, Lot
from stock.models.holds import LONGEST_REASON
from stock.wording.names import person_name


@transaction.atomic
def hold_lot(lot_id: int, *, reason: str, by_id: int | None = None) -> Hold:
    """Set a lot aside wherever it lies; return the hold.

    Whoever takes stock of the item waits until it is done. For the same reason again
    it changes nothing; for another it is refused. Six queries.
    """
    reason = " ".join(reason.split())
    if not reason or len(reason) > LONGEST_REASON:
        raise NoReasonError(LONGEST_REASON)
    lot = Lot.objects.select_related("item").get(pk=lot_id)
    moment = ledger.moment_after_lock([lot.item_id])
    standing = Hold.objects.filter(lot=lot, released_at=None)
    known = standing.select_related("held_by").first()
    if known is None:
        return Hold.objects.create(
            lot=lot, reason=reason, held_at=moment, held_by_id=by_id
        )
    if known.reason != reason:
        raise HeldAlreadyError(lot_words(lot), known.reason, person_name(known.held_by))
    return known


@transaction.atomic
def release_hold(hold_id: int, *, by_id: int | None = None) -> Hold:
    """Let a lot be planned with and used again; return the hold as it is now.

    Released again it stays as it was: a hold that somebody has put on the lot since
    is another one. Five queries.
    """
    hold = Hold.objects.select_related("lot__item").get(pk=hold_id)
    moment = ledger.moment_after_lock([hold.lot.item_id])
    hold.refresh_from_db(fields=["released_at", "released_by"])
    if hold.released_at is None:
        hold.released_at, hold.released_by_id = moment, by_id
        hold.save(update_fields=["released_at", "released_by"])
    return hold
