"""The plan as it is beside the plan as it would be, ready to be shown."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.plan import ShortfallKind, SuggestedOrder
from planning.engine.scenarios.rescue import Lost
from planning.plan.outlook import NewLack, Outlook, new_lacks, newly_late
from planning.plan.planner import Planned
from planning.scenarios.what_if import Comparison
from planning.sentences.words import capitalized
from planning.web.page_words import PageWords
from planning.web.scenarios.what_if_lost import LostItem, lost_in_one
from planning.web.shortfalls.lack_chains import Chain, lack_chain
from planning.web.shortfalls.shortfall_rows import CakeFinder
from planning.wording.order_change_words import moved_words
from planning.wording.rescue import find_lost_items
from stock.wording.money_words import money_words

FIGURE = {"attrs": {"th": {"class": "num"}, "td": {"class": "num"}}}
KIND_NAMES = {
    ShortfallKind.OUT: gettext_lazy("Items that run out"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy("Items below safety"),
    ShortfallKind.BELOW_PAR: gettext_lazy("Items below par"),
}

MORE_SHORT = gettext_lazy("That is {} more than as it is.")
LESS_SHORT = gettext_lazy("With the change it is {} less.")


class ComparisonTable(tables.Table):
    """Both plans in figures."""

    name = tables.Column("")
    real = tables.Column(gettext_lazy("As it is"), **FIGURE)
    changed = tables.Column(gettext_lazy("What if"), **FIGURE)

    class Meta:
        orderable = False
        attrs = {"class": "across"}


class ComparedOrdersTable(tables.Table):
    """Every order of both plans; together they cost what the plans do."""

    order = tables.Column(gettext_lazy("Order"))
    real = tables.Column(gettext_lazy("As it is"), **FIGURE)
    changed = tables.Column(gettext_lazy("What if"), **FIGURE)

    class Meta:
        orderable = False
        attrs = {"class": "across"}


@dataclass(frozen=True, slots=True)
class ChangedShortItem:
    """One item that is short in one plan and not, or not so much, in the other."""

    item_id: int
    item_name: str
    words: str
    remedy: str
    mark: str
    more: str  # by how much it differs from the other plan; blank where that is all
    chain: Chain  # what its figure is made of


@dataclass(frozen=True, slots=True)
class ShownComparison:
    """A comparison as its page shows it."""

    table: ComparisonTable
    orders: ComparedOrdersTable | None  # none where neither plan orders anything
    lost: list[LostItem]  # what no delivery saves, or less of it than as it is
    saved: list[LostItem]  # what no delivery saves as it is, but with the change
    new: list[ChangedShortItem]
    gone: list[ChangedShortItem]
    late: list[str]
    moved: list[str]  # what is bought otherwise
    warnings: list[str]

    @property
    def same_is_short(self) -> str:
        """That the same runs short in both plans, and whether orders stay; or blank."""
        if self.lost or self.saved or self.new or self.gone or self.late:
            return ""
        if self.moved:
            return _("Nothing more and nothing less runs short, because orders move.")
        return _("Nothing more and nothing less runs short, and every order stays.")


def shown(comparison: Comparison, today: date) -> ShownComparison:
    """Return both plans side by side."""
    real, changed = comparison.real, comparison.changed
    before, after = _outlook(real), _outlook(changed)
    was_lost, lost = find_lost_items(real), find_lost_items(changed)
    table = ComparisonTable(
        [
            *_lack_figures(real, changed),
            _lost_figures(real, was_lost, lost),
            *_order_figures(real, changed),
        ]
    )
    words = PageWords(real, today)
    window = real.plan.window
    table.caption = _("Both plans, {day} to {day2}, as of {moment}.").format(
        day=words.day(window.from_on),
        day2=words.day(window.to_on),
        moment=words.moment(window.as_of),
    )
    known = set(_warnings(real))
    return ShownComparison(
        table=table,
        orders=_orders_table(words, real, changed),
        lost=lost_in_one(changed, lost, was_lost, today, str(MORE_SHORT)),
        saved=lost_in_one(real, was_lost, lost, today, str(LESS_SHORT)),
        new=_lacks(changed, new_lacks(before, after), today, str(MORE_SHORT)),
        gone=_lacks(real, new_lacks(after, before), today, str(LESS_SHORT)),
        late=newly_late(before, after),
        moved=moved_words(real, changed, words.telling),
        warnings=[each for each in _warnings(changed) if each not in known],
    )


def _warnings(planned: Planned) -> list[str]:
    return [*planned.warnings, *planned.order_warnings]


def in_force_words(real: Planned, chosen: Planned, today: date) -> str:
    """Return what the orders in force come to; blank where they come to the same."""
    total = chosen.plan.purchasing.total_cost
    if chosen.usual is None or total == real.plan.purchasing.total_cost:
        return ""
    until = ""
    if chosen.plan.window.to_on != real.plan.window.to_on:
        until = _(", up to {day},").format(
            day=PageWords(real, today).day(chosen.plan.window.to_on)
        )
    return _(
        "Both sides are planned by the usual rule. The orders in "
        "force{until} come to {money}."
    ).format(until=until, money=money_words(total, real.bakery.currency))


def _outlook(planned: Planned) -> Outlook:
    return Outlook(
        planned.kitchen,
        planned.plan.window,
        planned.explosion,
        planned.plan.shortfalls,
        planned.words,
    )


def _lack_figures(real: Planned, changed: Planned) -> Iterator[dict[str, object]]:
    for kind, name in KIND_NAMES.items():
        yield {
            "name": name,
            "real": _short_items(real, kind),
            "changed": _short_items(changed, kind),
        }


def _lost_figures(
    real: Planned, was_lost: Sequence[Lost], lost: Sequence[Lost]
) -> dict[str, object]:
    names = real.kitchen.nodes.names
    return {
        "name": _("Items that no delivery saves"),
        "real": _counted(names[row.node] for row in was_lost),
        "changed": _counted(names[row.node] for row in lost),
    }


def _order_figures(real: Planned, changed: Planned) -> Iterator[dict[str, object]]:
    mine, theirs = real.plan.purchasing, changed.plan.purchasing
    currency = real.bakery.currency
    yield {
        "name": _("Deliveries to order"),
        "real": len(mine.orders),
        "changed": len(theirs.orders),
    }
    for name, was, would in (
        (_("Goods"), mine.goods_cost, theirs.goods_cost),
        (_("Delivery fees"), mine.fees, theirs.fees),
        (
            _("Orders in all"),
            mine.total_cost,
            theirs.total_cost,
        ),
    ):
        yield {
            "name": name,
            "real": money_words(was, currency),
            "changed": money_words(would, currency),
        }


def _short_items(planned: Planned, kind: ShortfallKind) -> SafeString:
    names = planned.kitchen.nodes.names
    return _counted(
        names[row.node] for row in planned.plan.shortfalls if row.kind is kind
    )


def _counted(found: Iterable[str]) -> SafeString:
    """Return how many items there are; tapped, it names them."""
    names = list(found)
    if not names:
        return format_html("{}", 0)
    return format_html(
        '<details class="amount"><summary>{}</summary><ul class="plain">{}</ul>'
        "</details>",
        len(names),
        format_html_join("", "<li>{}</li>", ([capitalized(name)] for name in names)),
    )


def _orders_table(
    words: PageWords, real: Planned, changed: Planned
) -> ComparedOrdersTable | None:
    """Return the orders of both plans, by the day they come on."""
    plans = [_orders(planned) for planned in (real, changed)]
    names = [row.name for row in real.kitchen.suppliers]
    rows = [
        {
            "order": f"{names[supplier]}, {words.day(deliver_on)}",
            "real": _order_cost(plans[0].get((deliver_on, supplier)), real),
            "changed": _order_cost(plans[1].get((deliver_on, supplier)), real),
        }
        for deliver_on, supplier in sorted({**plans[0], **plans[1]})
    ]
    if not rows:
        return None
    table = ComparedOrdersTable(rows)
    table.caption = _("What each order costs, with its goods and its delivery.")
    return table


def _orders(planned: Planned) -> dict[tuple[date, int], SuggestedOrder]:
    orders = planned.plan.purchasing.orders
    return {(order.deliver_on, order.supplier): order for order in orders}


def _order_cost(order: SuggestedOrder | None, real: Planned) -> SafeString | str:
    if order is None:
        return "none"
    currency = real.bakery.currency
    total = money_words(order.total_cost, currency)
    if not order.fee:
        return total
    return format_html(
        '{}<br><span class="small soft">{} + {}</span>',
        total,
        money_words(order.goods_cost, currency),
        money_words(order.fee, currency),
    )


def _lacks(
    planned: Planned, lacks: Sequence[NewLack], today: date, more: str
) -> list[ChangedShortItem]:
    """Return what is short in a plan. At most one query, for the cakes."""
    if not lacks:
        return []
    words, nodes = PageWords(planned, today), planned.kitchen.nodes
    cakes = CakeFinder(words, set(planned.kitchen.cakes.references))
    return [
        ChangedShortItem(
            item_id=nodes.ids[lack.row.node],
            item_name=nodes.names[lack.row.node],
            words=words.shortfall(lack.row).words,
            remedy=words.remedy(lack.row),
            mark="short" if lack.row.kind is ShortfallKind.OUT else "low",
            more=(
                more.format(words.gap(lack.row.node, lack.more_base))
                if lack.was_short
                else ""
            ),
            chain=lack_chain(words, lack.row, cakes),
        )
        for lack in lacks
    ]
