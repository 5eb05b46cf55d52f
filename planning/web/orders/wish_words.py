"""A buyer's wishes in words: what each is about, and why one cannot be any more."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.deliveries import order_by_moment
from planning.engine.kitchen import DeliveryKey, PackTerms
from planning.engine.ordering.instance.wishes import KeptWishes
from planning.engine.plan import Purchasing
from planning.plan.planner import Planned
from planning.web.orders.order_words import deliver_words, packs_words
from stock.models import Pack, Supplier
from stock.templatetags.words import moment_words

GONE_PACK = gettext_lazy("This pack is no longer sold: remove the wish.")
SOMETHING, SOMEBODY = (
    gettext_lazy("a pack that is gone"),
    gettext_lazy("a supplier who is gone"),
)


@dataclass(frozen=True)
class WishWords:
    """Says wishes for the kitchen of one plan; who is gone is looked up."""

    planned: Planned
    now: datetime

    @property
    def today(self) -> date:
        """The day on which the words are read."""
        return timezone.localdate(self.now)

    @cached_property
    def packs(self) -> dict[int, PackTerms]:
        """What is sold, by its id."""
        return {pack.pack_id: pack for pack in self.planned.kitchen.packs}

    @cached_property
    def places(self) -> dict[int, int]:
        """The place of every supplier by its id."""
        suppliers = self.planned.kitchen.suppliers
        return {terms.supplier_id: place for place, terms in enumerate(suppliers)}

    def supplier(self, supplier_id: int) -> str:
        """Return a supplier's name. One query for one who is gone."""
        if supplier_id in self.places:
            return self.planned.kitchen.suppliers[self.places[supplier_id]].name
        row = Supplier.objects.filter(pk=supplier_id).first()
        return str(row.name if row else SOMEBODY)

    def line(self, pack_id: int, deliver_on: date) -> str:
        """Return a line's item, pack, supplier and day. One query for what is gone."""
        item, label, supplier = self._names(pack_id)
        return _("{item}, {label}, from {supplier} {on}").format(
            item=item, label=label, supplier=supplier, on=self._on(deliver_on)
        )

    def fixed(self, pack_id: int, deliver_on: date, packs: int) -> str:
        """Return what a fixed line asks for."""
        item, label, supplier = self._names(pack_id)
        whole = (
            _("Exactly {count} of {item} from {supplier} {on}")
            if packs
            else _("No {label} of {item} from {supplier} {on}")
        )
        return whole.format(
            count=packs_words(packs, label) if packs else "",
            label=label,
            item=item,
            supplier=supplier,
            on=self._on(deliver_on),
        )

    def truck(self, supplier_id: int, deliver_on: date) -> str:
        """Return a delivery in words."""
        return f"{self.supplier(supplier_id)} {self._on(deliver_on)}"

    def all(self, wishes: KeptWishes, found: Purchasing | None = None) -> list[str]:
        """Return each wish in words; beside orders also which these do not keep."""
        bought = None if found is None else _bought(found)
        return [
            *(
                _("Nothing from {supplier}").format(supplier=self.supplier(key))
                for key in wishes.left_out
            ),
            *(
                _("Rather from {supplier}").format(supplier=self.supplier(key))
                for key in wishes.preferred
            ),
            *(
                _("No order from {truck}").format(truck=self.truck(*truck))
                for truck in wishes.forbidden_deliveries
            ),
            *(
                _("Rather from {truck}").format(truck=self.truck(*one))
                for one in wishes.preferred_deliveries
            ),
            *(
                self.fixed(line.pack_id, line.deliver_on, line.packs)
                + _unkept(bought, (line.pack_id, line.deliver_on), line.packs)
                for line in wishes.fixed_lines
            ),
        ]

    def pack_problem(self, pack_id: int) -> str:
        """Return why nothing of a pack can be ordered; blank if it can."""
        nodes, pack = self.planned.kitchen.nodes, self.packs.get(pack_id)
        if pack is None:
            return str(GONE_PACK)
        if nodes.retired[pack.node]:
            return _("{names} is retired: remove the wish.").format(
                names=nodes.names[pack.node]
            )
        return ""

    def truck_problem(self, supplier_id: int, deliver_on: date) -> str:
        """Return why a delivery can no longer be had; blank if it can."""
        place = self.places.get(supplier_id)
        if place is None:
            return _("Nothing is ordered from them now: remove the wish.")
        possible = {each.key for each in self.planned.deliveries}
        if DeliveryKey(place, deliver_on) in possible:
            return ""
        return _("{missed} Remove the wish.").format(
            missed=self._missed(place, deliver_on)
        )

    def _missed(self, place: int, day: date) -> str:
        kitchen, window = self.planned.kitchen, self.planned.plan.window
        terms = kitchen.suppliers[place]
        if day < window.from_on:
            return _("That day is past.")
        if day > window.to_on:
            return _("That day is beyond the plan.")
        is_closed = kitchen.bakery.is_closed(day) or day in terms.closed_on
        if is_closed or day.weekday() not in terms.delivery_weekdays:
            return _("{name} does not come {on}.").format(
                name=terms.name, on=self._on(day)
            )
        order_by = order_by_moment(terms, day, ZoneInfo(kitchen.bakery.zone_key))
        return _("The cut-off was {moment}.").format(
            moment=moment_words(order_by, self.today)
        )

    def _names(self, pack_id: int) -> tuple[str, str, str]:
        kitchen, pack = self.planned.kitchen, self.packs.get(pack_id)
        if pack is not None:
            supplier = kitchen.suppliers[pack.supplier].name
            return kitchen.nodes.names[pack.node], pack.label, supplier
        row = Pack.objects.select_related("item", "supplier").filter(pk=pack_id).first()
        if row is None:
            return str(SOMETHING), "", str(SOMEBODY)
        return row.item.name, row.label, row.supplier.name

    def _on(self, day: date) -> str:
        return deliver_words(day, self.today)


def _bought(found: Purchasing) -> dict[tuple[int, date], int]:
    return {
        (line.pack.pack_id, order.deliver_on): line.packs
        for order in found.orders
        for line in order.lines
    }


def _unkept(
    bought: dict[tuple[int, date], int] | None, place: tuple[int, date], packs: int
) -> str:
    """Return that orders do not have a line as it was fixed; blank if they do."""
    if bought is None or bought.get(place, 0) == packs:
        return ""
    return _(", which these orders could not keep")
