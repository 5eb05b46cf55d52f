"""What is said of a label that was scanned at the door, in a sentence."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.models import DeliveryLine, OrderLine
from planning.sentences.words import capitalized
from planning.wording.delivery_words import packs_of_line
from stock.labels.reading import Label
from stock.labels.tying import short
from stock.labels.wording import day_of_label, doubts_words, read_words
from stock.models import Pack, Supplier


def scanned_words(row: DeliveryLine, label: Label, *, is_repeat: bool) -> str:
    """Return what one label brought, and what is still to come of its line."""
    line = row.line
    said = _("{item}: {packs} received, {lot}. {rest}").format(
        item=capitalized(line.pack.item.name),
        packs=packs_of_line(line, row.packs),
        lot=_lot_words(row),
        rest=_rest_words(line),
    )
    if is_repeat:
        again = _("Sent twice, counted once. Scan again for another.")
        return f"{said} {again}"
    if label.weight is not None:
        weighs = _("The label says {weight}; on hand counts {holds} a pack.").format(
            weight=f"{label.weight.normalize():f} {label.weight_unit}",
            holds=line.pack.holds,
        )
        return f"{said} {weighs}"
    return said


def undone_words(row: DeliveryLine) -> str:
    """Return that a label sent twice was undone in between."""
    return _("{item}: this scan was undone since. Scan again to receive it.").format(
        item=capitalized(row.line.pack.item.name)
    )


def found_words(line: OrderLine, label: Label) -> str:
    """Return whose label it is, what is not sure, and what to do."""
    item = capitalized(line.pack.item.name)
    if label.doubts:
        return f"{item}. {doubts_words(label)}"
    return _(
        "{item} found; this bar code has no lot or date. Scan the other one, or "
        "save the line."
    ).format(item=item)


def choose_words(label: Label) -> str:
    """Return why it must be said which line a label is of."""
    if label.own_lot_id:
        return _(
            "This label was printed here. Scan the supplier's, or choose the line."
        )
    doubts = doubts_words(label)
    if label.gtin:
        words = _("Bar code {gtin} is new. Choose its line once.").format(
            gtin=short(label.gtin)
        )
    else:
        words = _("{read}. Scan the case's other bar code, or choose the line.").format(
            read=capitalized(read_words(label) or _("No item on the label"))
        )
    return f"{doubts} {words}".strip()


def not_ordered_words(pack: Pack, supplier: Supplier) -> str:
    """Return whose label it is that is not on the order."""
    words = _("{item}, {pack}, is not on this order. Nothing was saved.")
    if pack.supplier_id != supplier.pk:
        words = _(
            "{item}, {pack} from {supplier}, is not on this order. Nothing was saved."
        )
    return words.format(
        item=capitalized(pack.item.name), pack=pack.label, supplier=pack.supplier.name
    )


def already_here_words(line: OrderLine) -> str:
    """Return that nothing more of a line is to come."""
    words = (
        _("{item} is closed: {packs} came. Nothing was saved.")
        if line.closed
        else _("{item}: all {packs} came already. Nothing was saved.")
    )
    return words.format(
        item=capitalized(line.pack.item.name),
        packs=packs_of_line(line, line.received_packs),
    )


def tied_words(pack: Pack) -> str:
    """Return which pack a new bar code stands for from now on."""
    return _("Bar code {gtin} is {item}, {pack}, from now on.").format(
        gtin=pack.gtin, item=pack.item.name, pack=pack.label
    )


def _lot_words(row: DeliveryLine) -> str:
    lot = row.lot
    parts = [_("lot {lot}").format(lot=lot.code)] if lot and lot.code else []
    if lot and lot.use_by:
        parts.append(_("use by {day}").format(day=day_of_label(lot.use_by)))
    return ", ".join(parts)


def _rest_words(line: OrderLine) -> str:
    rest = line.packs_to_come
    if not rest:
        return _("All came.")
    return ngettext("{packs} is to come.", "{packs} are to come.", rest).format(
        packs=packs_of_line(line, rest)
    )
