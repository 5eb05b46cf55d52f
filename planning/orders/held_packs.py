"""Which packs may not come to hold something else, because an order asks for them."""

from collections.abc import Collection

from django.db.models import Q
from django.utils.translation import gettext as _

from planning.models import Order, OrderLine, Revision, RevisionLine
from planning.models.orders import STILL_TO_COME

State = Order.State


def held_packs(pack_ids: Collection[int]) -> dict[int, str]:
    """Return why packs may not come to hold something else, by their ids. Two queries.

    What an approved order or revision says, or an order that was sent from here and is
    still to come, would be another order.
    """
    is_to_come = STILL_TO_COME & Q(order__state__in=Order.OPEN_STATES)
    was_sent_here = Q(order__steps__state=State.SENT, order__steps__imported=False)
    lines = OrderLine.objects.filter(
        Q(order__state=State.APPROVED) | (is_to_come & was_sent_here),
        pack_id__in=pack_ids,
    )
    found: dict[int, str] = {}
    for pack_id, reference, state in lines.order_by("order__reference").values_list(
        "pack_id", "order__reference", "order__state"
    ):
        if state == State.APPROVED:
            words = _(
                "{reference} is approved with it. Make that a draft again first"
            ).format(reference=reference)
        else:
            words = _(
                "{reference} was sent with it. Wait until that came, or cancel it"
            ).format(reference=reference)
        found.setdefault(pack_id, words)
    found = _held_by_revisions(pack_ids) | found
    or_another = _("{words}, or give the new size a pack of its own.")
    return {pack_id: or_another.format(words=why) for pack_id, why in found.items()}


def _held_by_revisions(pack_ids: Collection[int]) -> dict[int, str]:
    """Return which packs approved revisions ask for, as `held_packs` says it."""
    rows = RevisionLine.objects.filter(
        revision__state=Revision.State.APPROVED, packs__gt=0, pack_id__in=pack_ids
    ).order_by("revision__order__reference")
    words = _(
        "revision {number} of {reference} is approved with it. "
        "Make that a draft again first"
    )
    return {
        pack_id: words.format(number=number, reference=reference)
        for pack_id, number, reference in rows.values_list(
            "pack_id", "revision__number", "revision__order__reference"
        )
    }
