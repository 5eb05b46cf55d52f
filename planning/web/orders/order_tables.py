"""Orders in tables: what one asks for, and all of them at a glance."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Protocol

import django_tables2 as tables
from django.forms import BoundField
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2 import A

from planning.engine.costing import cost_of_packs
from planning.engine.plan import SuggestedOrder
from planning.models import Order, OrderLine
from planning.orders.going_out import is_cut_off_over
from planning.orders.order_book import BookedOrder
from planning.plan.planner import Planned
from planning.sentences.words import capitalized
from planning.web.orders.order_checks import break_words
from planning.web.orders.order_words import (
    FROM_EARLIER_PLAN,
    change_words,
    due_words,
    packs_words,
    step_words,
    total_words,
)
from planning.web.orders.wish_entries import line_name
from stock.templatetags.words import day_words, moment_words, money, price

NO_MORE = SafeString("")
WISH_FIELD = (
    '<div class="wish-field screen-only">'
    '<label class="choice"><input type="checkbox" form="wishes" name="keep" '
    'value="{name}={packs}"> <span>{words}</span></label>'
    '<label>{fix_at} <span class="for-ears">{of_item}</span> '
    '<input type="text" form="wishes" name="{name}" inputmode="numeric" '
    'autocomplete="off"> {packs_word}</label>'
    '<button type="submit" form="wishes" name="step" value="add" class="button">'
    "{add}</button></div>"
)
# As an order notes that a person changed how many packs a line asks for.
CHANGED_BY_HAND = re.compile(r".+ made it [0-9]+ instead of ([0-9]+)\.", re.DOTALL)
NUM = {"td": {"class": "num"}, "th": {"class": "num"}}
COST = {"td": {"class": "num cost"}, "th": {"class": "num"}}
WORDS = {"td": {"class": "words"}}


class WishForm(Protocol):
    """The form that wishes for lines are typed into."""

    def line_words(self, pack_id: int, deliver_on: date) -> str:
        """Return how a line is fixed already; blank if it is free."""


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line of an order, stored or suggested."""

    item: str
    item_id: int
    code: str
    packs: int
    label: str
    price: Decimal
    line_cost: Decimal
    because: tuple[str, ...] = ()
    note: str = ""
    field: BoundField | None = None  # where the number of packs is typed
    wish_name: str = ""  # of the field that fixes it in the next search
    change: str = ""  # what a revision made of it: was 3 cases, now 5
    wished: str = ""  # how it is fixed already


def suggested_rows(
    planned: Planned, order: SuggestedOrder, form: WishForm | None = None
) -> list[LineRow]:
    """Return the lines of an order that the plan suggests.

    With a form of wishes each can be fixed.
    """
    nodes, day = planned.kitchen.nodes, order.deliver_on
    return [
        LineRow(
            item=nodes.names[line.pack.node],
            item_id=nodes.ids[line.pack.node],
            code=line.pack.code,
            packs=line.packs,
            label=line.pack.label,
            price=line.price,
            line_cost=line.line_cost,
            because=planned.order_sentences.because(line),
            wish_name=line_name(line.pack.pack_id, day) if form else "",
            wished=form.line_words(line.pack.pack_id, day) if form else "",
        )
        for line in order.lines
    ]


def stored_rows(
    booked: BookedOrder, fields: dict[int, BoundField] | None = None
) -> list[LineRow]:
    """Return the lines of a stored order, each with its field where it has one."""
    changes = booked.change_by_pack
    return [
        _stored_row(
            line, booked.sheet.currency, fields or {}, changes.get(line.pack_id, "")
        )
        for line in booked.lines
        if line.stands_for_id is None  # a substitute was never ordered
    ]


def _stored_row(
    line: OrderLine, currency: str, fields: dict[int, BoundField], change: str
) -> LineRow:
    bound = fields.get(line.pack_id)
    return LineRow(
        item=line.pack.item.name,
        item_id=line.pack.item_id,
        code=line.pack.code,
        packs=line.packs,
        label=line.pack.label,
        price=line.price,
        line_cost=cost_of_packs(line.price, line.packs),
        because=_reasons(line.because),
        change=change,
        note=break_words(line, currency) if bound else "",
        field=bound,
    )


def _reasons(because: list[str]) -> tuple[str, ...]:
    """Return reasons as stored; those for a number that was changed say for which."""
    for place, sentence in enumerate(because):
        changed = CHANGED_BY_HAND.fullmatch(sentence)
        if changed and place:
            packs = int(changed[1])
            count = ngettext("{packs:,} pack", "{packs:,} packs", packs).format(
                packs=packs
            )
            first = _("The plan's reasons were for {count}:").format(count=count)
            return first, *because
    return tuple(because)


class OrderLinesTable(tables.Table):
    """What an order asks for; the number of packs opens to why."""

    item = tables.Column(gettext_lazy("Item"), linkify=("stock:item", [A("item_id")]))
    code = tables.Column(
        gettext_lazy("Supplier code"), attrs={"td": {"class": "supplier-code"}}
    )
    buy = tables.Column(gettext_lazy("Packs"), empty_values=(), attrs=WORDS)
    price = tables.Column(gettext_lazy("Price"), attrs=NUM)
    line_cost = tables.Column(gettext_lazy("Total"), attrs=COST)

    class Meta:
        orderable = False
        empty_text = gettext_lazy("Nothing is on it yet.")
        attrs = {"class": "order-lines"}

    def __init__(self, rows: Iterable[LineRow], *, caption: str, currency: str) -> None:
        super().__init__(rows)
        self.caption = caption
        self.currency = currency

    def render_buy(self, record: LineRow) -> SafeString:
        """Return how many packs of what, why, and the field to change it in."""
        if record.change:
            change = format_html(
                "<p><strong>{}</strong></p>", capitalized(record.change)
            )
            return self._buy(record) + change
        return self._buy(record)

    def _buy(self, record: LineRow) -> SafeString:
        words = packs_words(record.packs, record.label)
        if record.wish_name:
            return _wishable(record, words)
        why = _why(words if record.field is None else _("Why so many"), record)
        if record.field is None:
            return why + _for_paper(words) if why else format_html("{}", words)
        return format_html(
            "{}"
            '<span class="packs-field screen-only">{} <label for="{}">&times; {}'
            '<span class="for-ears"> {}</span></label></span>'
            "{}{}{}",
            _for_paper(words),
            record.field,
            record.field.id_for_label,
            record.label,
            _("of {item}, how many packs").format(item=record.item),
            record.field.errors,
            format_html('<p class="soft small">{}</p>', record.note)
            if record.note
            else "",
            why,
        )

    def render_item(self, record: LineRow) -> str:
        """Return the item's name as it heads a row."""
        return capitalized(record.item)

    def render_price(self, record: LineRow) -> str:
        """Return the price of one pack."""
        return price(record.price, self.currency)

    def render_line_cost(self, record: LineRow) -> str:
        """Return what the line comes to."""
        return money(record.line_cost, self.currency)


def _for_paper(words: str) -> SafeString:
    """Return words in place of what only a screen can open or type in."""
    return format_html('<span class="print-only">{}</span>', words)


def _why(words: str, record: LineRow, more: SafeString = NO_MORE) -> SafeString:
    """Return words that open to reasons, and more; nothing where there is nothing."""
    reasons = format_html_join("", "<li>{}</li>", ((each,) for each in record.because))
    if not reasons and not more:
        return NO_MORE
    return format_html(
        '<details class="amount why"><summary>{}</summary><ul>{}</ul>'
        '<p class="screen-only"><a href="{}">{}</a></p>{}</details>',
        words,
        reasons,
        reverse("planning:ahead", args=[record.item_id]),
        _("{item}, day by day").format(item=capitalized(record.item)),
        more,
    )


def _wishable(record: LineRow, words: str) -> SafeString:
    """Return packs that open to why, and to a way to fix how many."""
    if record.wished:
        more = format_html(
            '<p class="small"><a href="#your-wishes">{}</a></p>', record.wished
        )
        return _why(words, record) + _for_paper(words) + more
    field = format_html(
        WISH_FIELD,
        name=record.wish_name,
        packs=record.packs,
        words=_("Keep {words} as {value}").format(
            words=words, value=_("it is") if record.packs == 1 else _("they are")
        ),
        fix_at=_("or fix at"),
        of_item=_("so many packs of {item}").format(item=record.item),
        packs_word=_("packs"),
        add=_("Add to the wishes"),
    )
    return _why(words, record, field) + _for_paper(words)


def _open_words(record: BookedOrder, today: date) -> str | SafeString:
    """Return how an order came to be open; before it, how late it is."""
    if not record.is_overdue(today):
        return step_words(record, today)
    return format_html(
        '<p class="state state-short">{}</p>{}.',
        due_words(record, today),
        step_words(record, today),
    )


class OrdersTable(tables.Table):
    """Stored orders, each with what it is up to."""

    reference = tables.Column(
        gettext_lazy("Order"),
        accessor="order__reference",
        linkify=("planning:order", [A("order__pk")]),
        attrs={"td": {"class": "reference"}},
    )
    supplier = tables.Column(gettext_lazy("Supplier"), accessor="order__supplier__name")
    deliver_on = tables.Column(gettext_lazy("Deliver"), accessor="order__deliver_on")
    order_by = tables.Column(empty_values=(), verbose_name=gettext_lazy("Order by"))
    total = tables.Column(gettext_lazy("Total"), empty_values=(), attrs=NUM)
    lines = tables.Column(gettext_lazy("Lines"), empty_values=(), attrs=NUM)
    state = tables.Column(gettext_lazy("State"), empty_values=(), attrs=WORDS)

    class Meta:
        orderable = False
        attrs = {"class": "order-list"}

    def __init__(
        self,
        rows: Iterable[BookedOrder],
        *,
        caption: str,
        now: datetime,
        exclude: tuple[str, ...] = (),
    ) -> None:
        super().__init__(rows, exclude=exclude)
        self.caption = caption
        self.now = now
        self.today = timezone.localdate(now)
        # Drafts of the plan's own that drafting again would change or drop.
        self.outdated: frozenset[str] = frozenset()

    def render_deliver_on(self, record: BookedOrder) -> str:
        """Return the day of delivery."""
        return day_words(record.order.deliver_on, self.today)

    def render_order_by(self, record: BookedOrder) -> str:
        """Return the last moment to order, or that it is past."""
        order_by = record.order.order_by
        words = moment_words(order_by, self.today)
        return (
            _("{words}, past").format(words=words)
            if is_cut_off_over(order_by, at=self.now)
            else words
        )

    def render_total(self, record: BookedOrder) -> str:
        """Return what the order comes to."""
        return total_words(record)

    def render_lines(self, record: BookedOrder) -> int:
        """Return how many lines it has."""
        return len(record.lines)

    def render_state(self, record: BookedOrder) -> str | SafeString:
        """Return when it comes, who changed it, or what became of it."""
        if record.is_open:
            return _open_words(record, self.today)
        if record.order.reference in self.outdated:
            return str(FROM_EARLIER_PLAN)
        if record.order.state == Order.State.DRAFT:
            return change_words(record, self.today)
        return step_words(record, self.today)
