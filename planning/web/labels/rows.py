"""What the labels of some lots say."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.recipes.recipe_book import RecipeBook, open_book
from planning.sentences.words import capitalized
from stock.calendar.calendar_words import date_words
from stock.items.allergens import split_allergens
from stock.labels.printing import QrCode, lot_text, opened_use_by, qr_code
from stock.labels.wording import day_of_label
from stock.ledger.documents import document_key, is_undoing
from stock.models import Item, Lot, Movement

# Letters that fit in the usual size, and at all; measured with a wide typeface.
LONG_NAME, LONG_CONTAINS, LONG_CODE = 30, 40, 12
MOST_NAME, MOST_CONTAINS, MOST_CODE = 65, 110, 30
CAME = (Movement.Kind.MADE, Movement.Kind.RECEIVED)


@dataclass(frozen=True, slots=True)
class PrintedLabel:
    """One label, in words. What is not known is blank, to be written by hand."""

    name: str
    came_words: str  # Made Mon Nov 30, 2026
    use_by_words: str  # Thu Dec 3, 2026
    lot_code: str
    contains: str
    code: QrCode
    reads: str  # what the code says, to be typed where none can be scanned

    @property
    def is_long(self) -> bool:
        """Whether it takes smaller letters."""
        lengths = {self.name: LONG_NAME, self.contains: LONG_CONTAINS}
        lengths[self.lot_code] = LONG_CODE
        return any(len(words) > most for words, most in lengths.items())


@dataclass(frozen=True, slots=True)
class Came:
    """How a lot came, and on which day."""

    kind: str
    on: date


def printed_labels(
    lots: Sequence[Lot], *, opened_on: date | None, use_by: date | None
) -> list[PrintedLabel]:
    """Return the labels of lots, whose items are read. Four queries at most.

    A lot that was `opened_on` a day is marked with that; `use_by` is what somebody
    typed instead of the date that is worked out.
    """
    came = _came({lot.pk for lot in lots})
    is_made = any(lot.item.kind == Item.Kind.MADE for lot in lots)
    book = open_book() if is_made else None
    return [_label(lot, came, book, opened_on, use_by) for lot in lots]


def _label(
    lot: Lot,
    came: Mapping[int, Came],
    book: RecipeBook | None,
    opened_on: date | None,
    typed_use_by: date | None,
) -> PrintedLabel:
    use_by = typed_use_by or lot.use_by
    if opened_on is not None and typed_use_by is None:
        use_by = opened_use_by(opened_on, lot.item.opened_keeps_days, lot.use_by)
    text = lot_text(lot.pk, use_by)
    return PrintedLabel(
        name=_at_most(capitalized(lot.item.name), MOST_NAME),
        came_words=_came_words(came.get(lot.pk), opened_on),
        use_by_words=day_of_label(use_by) if use_by else "",
        lot_code=_at_most(lot.code, MOST_CODE),
        contains=_contains(_allergens(lot.item, book)),
        code=qr_code(text),
        reads=text,
    )


def _came_words(came: Came | None, opened_on: date | None) -> str:
    if opened_on is not None:
        return _("Opened {day}").format(day=date_words(opened_on))
    if came is None:
        return ""
    if came.kind == Movement.Kind.MADE:
        return _("Made {day}").format(day=date_words(came.on))
    return _("Received {day}").format(day=date_words(came.on))


def _at_most(words: str, most: int) -> str:
    """Return words that are cut where they are too long, and show it."""
    return words if len(words) <= most else f"{words[: most - 1]}…"


def _contains(allergens: Collection[str]) -> str:
    """Return allergens as they fit on a label: all of them, or that they do not."""
    words = ", ".join(allergens)
    if len(words) <= MOST_CONTAINS:
        return words
    return ngettext(
        "{count} allergen, see its page",
        "{count} allergens, see its page",
        len(allergens),
    ).format(count=len(allergens))


def _allergens(item: Item, book: RecipeBook | None) -> Collection[str]:
    if book is not None and item.kind == Item.Kind.MADE:
        return book.allergens(item.pk)
    return split_allergens(item.allergens)


def _came(lot_ids: Collection[int]) -> dict[int, Came]:
    """Return how lots came first, without what was undone. One query."""
    rows = list(
        Movement.objects.filter(lot__in=lot_ids, kind__in=CAME)
        .order_by("at", "pk")
        .values_list("lot_id", "kind", "at", "amount_base", "key")
    )
    undone = {document_key(key) for *_rest, key in rows if is_undoing(key)}
    found: dict[int, Came] = {}
    for lot_id, kind, at, amount_base, key in rows:
        document = document_key(key)
        stands = document is None or document not in undone
        if amount_base > 0 and stands and not is_undoing(key):
            found.setdefault(lot_id, Came(kind, timezone.localdate(at)))
    return found
