"""Hold a lot, or release it: one line in, one line out."""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.calendar.calendars import parse_date
from stock.conversion import converters
from stock.entry.entries import folded
from stock.holding.errors import HoldError, NotOnHoldError
from stock.holding.holding import hold_lot, release_hold
from stock.holding.wording import beside_words, later_words, lot_words
from stock.ledger import levels
from stock.ledger.levels import ZERO
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand
from stock.management.stock_arguments import item_named
from stock.measures.amount_words import amount_words
from stock.models import Hold, Item, Lot
from stock.wording import names
from stock.wording.names import capitalized


class LotArgumentError(HoldError):
    """Arguments that name no lot, or not one alone."""


class Command(PlainCommand):
    help = gettext_noop(
        "Sets a lot aside with a reason: it stays on record, out of the plan, of "
        "making and of waste without its name. --release lets it be used again."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("item", metavar="ITEM", help=_("its name"))
        parser.add_argument("--lot", metavar="CODE", help=_("default: the only lot"))
        parser.add_argument("--use-by", metavar="DATE", help=_("where a code has two"))
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--reason", metavar="WHY", help=_("hold it, for this reason"))
        what.add_argument("--release", action="store_true", help=_("release it"))
        arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        item = item_named(options["item"])
        by_id = arguments.person_id(options["by"])
        use_by = parse_date(options["use_by"]) if options["use_by"] else None
        lot = _lot(item, options["lot"], use_by)
        if options["release"]:
            release_hold(_standing(lot).pk, by_id=by_id)
            said = _("released; {} back in the plan")
        else:
            hold = hold_lot(lot.pk, reason=options["reason"], by_id=by_id)
            said = _("on hold: {reason}; {{}} out of the plan").format(
                reason=hold.reason
            )
        also = (beside_words if options["release"] else later_words)(lot)
        words = f"{lot_words(lot)}, {said.format(_amount(lot))}. {also}"
        self.stdout.write(words.strip())


def _lot(item: Item, code: str | None, use_by: date | None) -> Lot:
    """Return the only lot that the arguments name; several are never guessed among.

    Without a code those on record are meant, else any.
    """
    lots = list(item.lots.select_related("item"))
    on_hand = {lot.lot_id for lot in levels.lots_on_hand(item=item)}
    found = [
        lot
        for lot in lots
        if (folded(lot.code) == folded(code) if code is not None else lot.pk in on_hand)
        and use_by in (None, lot.use_by)
    ]
    if len(found) == 1:
        return found[0]
    if not found and code:
        known = [lot.code for lot in lots if lot.code]
        raise LotArgumentError(
            names.unknown(_("lot of {name}").format(name=item.name), code, known)
        )
    if not found:
        raise LotArgumentError(
            _("No lot of {name} is on record.").format(name=item.name)
        )
    raise LotArgumentError(
        capitalized(
            _("{name} has {lot}. Say which: --lot CODE, --use-by DATE.").format(
                name=item.name, lot="; ".join(str(lot) for lot in found)
            )
        )
    )


def _standing(lot: Lot) -> Hold:
    hold = Hold.objects.filter(lot=lot, released_at=None).first()
    if hold is None:
        raise NotOnHoldError(lot_words(lot))
    return hold


def _amount(lot: Lot) -> str:
    lots = levels.lots_on_hand(item=lot.item_id)
    base = sum((each.amount_base for each in lots if each.lot_id == lot.pk), ZERO)
    converter = converters.converters_for([lot.item_id])[lot.item_id]
    return amount_words(base, converter)
