"""The arguments that name an item, and where it is taken from."""

from django.utils.translation import gettext as _

from stock.entry.entries import folded
from stock.errors import StockError
from stock.management import count_arguments as arguments
from stock.models import Item, Place
from stock.wasting.quantities import Source, place_on_hand_base, sources
from stock.wording import names
from stock.wording.names import capitalized


class StockArgumentError(StockError):
    """An argument that names nothing here, or not one thing alone."""


def item_named(name: str) -> Item:
    """Return the item of this name, or say that there is none. One query."""
    known = {folded(item.name): item for item in Item.objects.all()}
    if folded(name) not in known:
        unknown = names.unknown("item", name, [item.name for item in known.values()])
        raise StockArgumentError(unknown)
    return known[folded(name)]


def source_named(
    item: Item,
    place_name: str | None,
    code: str | None,
    *,
    option: str = "--place",
    moved_to: Place | None = None,
) -> Source:
    """Return what the arguments name; several places are never guessed among.

    `option` is how the place is said, `moved_to` a place that is not meant unless it
    is said. Three queries.
    """
    if place_name is not None:
        [place] = arguments.places_named([place_name], Place.objects.all())
        found = [each for each in sources(item) if each.place == place]
        found = found or [Source(place, place_on_hand_base(item.pk, place.pk), ())]
    else:
        found = _in_the_only_place(item, option, moved_to)
    return found[0] if code is None else _of_lot(item, found[0], code)


def _of_lot(item: Item, of_place: Source, code: str) -> Source:
    for lot in of_place.lots:
        if folded(lot.code) == folded(code):
            return Source(of_place.place, lot.amount_base, (lot,), lot)
    known = [lot.code for lot in of_place.lots if lot.code]
    where = _("lot of {name} in {name2}").format(
        name=item.name, name2=of_place.place.name
    )
    raise StockArgumentError(names.unknown(where, code, known))


def _in_the_only_place(item: Item, option: str, moved_to: Place | None) -> list[Source]:
    everywhere = sources(item)
    found = [each for each in everywhere if each.place != moved_to] or everywhere
    stocked = [each for each in found if each.lots] or found
    place_names = list(dict.fromkeys(each.place.name for each in stocked))
    if len(place_names) != 1:
        where = ", ".join(place_names) or _("no place yet")
        raise StockArgumentError(
            capitalized(
                _("{name} stands in {where}. Say which: {option} NAME.").format(
                    name=item.name, where=where, option=option
                )
            )
        )
    return stocked
