"""Bakes, as the history of an item and the journal of a day name them."""

from collections.abc import Collection

from django.urls import reverse
from django.utils.translation import gettext as _

from planning.models import Bake
from planning.sentences.words import capitalized
from planning.wording.bake_words import bake_words
from stock.ledger.documents import Document


def bake_documents(bake_ids: Collection[int]) -> dict[int, Document]:
    """Return bakes by id: what was made, and its page. One query."""
    rows = Bake.objects.filter(pk__in=bake_ids).order_by()
    return {
        row.pk: Document(
            capitalized(_("made: {what}").format(what=bake_words(row))), _url(row)
        )
        for row in rows.select_related("recipe__item", "planned_cake")
    }


def _url(bake: Bake) -> str:
    if bake.planned_cake_id is not None:
        return reverse("planning:planned_cake", args=[bake.planned_cake_id])
    return f"{reverse('planning:making')}?done={bake.pk}"
