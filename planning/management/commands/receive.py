"""`manage.py receive`: what came of an order, as at the door."""

from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from typing import Any, NamedTuple
from uuid import uuid4

from django.core.management.base import CommandError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.errors import DeliveryFaultsError
from planning.management.planning_command import PlanningCommand
from planning.models import Order, OrderLine
from planning.orders.delivery_checks import CameLine
from planning.orders.orders import Hand
from planning.orders.receiving import Rest, receive_delivery
from planning.wording.delivery_words import received_words
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError, WholeNumber
from stock.entry.entries import folded
from stock.management import count_arguments
from stock.models import Bakery
from stock.wording.names import unknown

CONFIRM = gettext_noop("With --confirm what was asked about stands.")


class LineSaid(NamedTuple):
    """A line by its supplier code or its item's name, and how many packs came."""

    name: str
    packs: int


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Receives an order: what came is on hand, the rest is still to come. "
        "Lines that are not named stay as they are."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("order", help=_("its number: 2026-004"))
        parser.add_argument(
            "--all", action="store_true", help=_("all that is still to come has come")
        )
        parser.add_argument(
            "--line",
            action="append",
            type=_line,
            default=[],
            metavar="CODE=PACKS",
            help=_("so many packs of a line came, by supplier code or item"),
        )
        parser.add_argument(
            "--close",
            action="store_true",
            help=_("close what of these lines did not come"),
        )
        parser.add_argument("--on", type=_day, help=_("the day it came; default today"))
        parser.add_argument("--key", help=_("the same key again changes nothing"))
        parser.add_argument(
            "--confirm", action="store_true", help=_("what is asked about is so")
        )
        count_arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        order = _order(options["order"])
        lines = list(order.lines.select_related("pack__item"))
        hand = Hand(
            order.pk,
            order.version,
            at=timezone.now(),
            by_id=count_arguments.person_id(options["by"]),
        )
        try:
            delivery = receive_delivery(
                hand,
                _came(lines, options),
                key=options["key"] or f"command {uuid4()}",
                bakery=Bakery.current(),
                rest=Rest.AS_ORDERED if options["all"] else Rest.STAYS,
                received_on=options["on"],
            )
        except DeliveryFaultsError as error:
            asks = all(fault.is_question for fault in error.faults)
            raise CommandError(f"{error} {CONFIRM}" if asks else str(error)) from error
        self.stdout.write(received_words(delivery))


def _order(reference: str) -> Order:
    order = Order.objects.filter(reference__iexact=reference.strip()).first()
    if order is None:
        known = Order.objects.filter(state__in=Order.OPEN_STATES)
        names = known.values_list("reference", flat=True)
        raise CommandError(unknown("order", reference, names))
    return order


def _came(lines: list[OrderLine], options: dict[str, Any]) -> list[CameLine]:
    packs = {_found(lines, said.name).pk: said.packs for said in options["line"]}
    if not options["all"] and not packs:
        raise CommandError(
            _("Say what came: --all, or --line CODE=PACKS for each line.")
        )
    return [
        CameLine(pk, count, closes=options["close"], confirmed=options["confirm"])
        for pk, count in packs.items()
    ]


def _found(lines: list[OrderLine], name: str) -> OrderLine:
    wanted = folded(name)
    for found in (
        [line for line in lines if folded(line.pack.code) == wanted],
        [line for line in lines if folded(line.pack.item.name) == wanted],
    ):
        if len(found) == 1:
            return found[0]
    known = [line.pack.code or line.pack.item.name for line in lines]
    raise CommandError(unknown("line", name, known))


def _line(text: str) -> LineSaid:
    name, equals, packs = text.rpartition("=")
    try:
        return LineSaid(name.strip(), WholeNumber().parse(packs if equals else ""))
    except CellError as error:
        raise ArgumentTypeError(
            _("{text!r}: write it like 00-7=2. {error}").format(text=text, error=error)
        ) from error


def _day(text: str) -> date:
    try:
        return Day().parse(text)
    except CellError as error:
        raise ArgumentTypeError(str(error)) from error
