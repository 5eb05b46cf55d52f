"""The plan as it is beside the plan as it would be, ready to be shown."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

import django_tables2 as tables

from planning.engine.plan import Shortfall, ShortfallKind
from planning.outlook import Outlook, new_lacks, newly_late
from planning.planner import Planned
from planning.web.page_words import PageWords
from planning.what_if import Comparison
from stock.money_words import money_words

FIGURE = {"attrs": {"th": {"class": "num"}, "td": {"class": "num"}}}
KIND_NAMES = {
    ShortfallKind.OUT: "Items that run out",
    ShortfallKind.BELOW_SAFETY: "Items below safety",
    ShortfallKind.BELOW_PAR: "Items below par",
}


class ComparisonTable(tables.Table):
    """Both plans in figures."""

    name = tables.Column("")
    real = tables.Column("As it is", **FIGURE)
    changed = tables.Column("What if", **FIGURE)

    class Meta:
        orderable = False
        attrs = {"class": "across"}


@dataclass(frozen=True, slots=True)
class Lack:
    """One item that is short in one plan and not, or not so much, in the other."""

    item_id: int
    item_name: str
    words: str
    remedy: str
    mark: str


@dataclass(frozen=True, slots=True)
class Shown:
    """A comparison as its page shows it."""

    table: ComparisonTable
    new: list[Lack]
    gone: list[Lack]
    late: list[str]
    warnings: list[str]


def shown(comparison: Comparison, today: date) -> Shown:
    """Return both plans side by side."""
    real, changed = comparison.real, comparison.changed
    before, after = _outlook(real), _outlook(changed)
    table = ComparisonTable(list(_figures(real, changed)))
    words = PageWords(real, today)
    window = real.plan.window
    table.caption = (
        f"Both plans, {words.day(window.from_on)} to {words.day(window.to_on)}, as of "
        f"{words.moment(window.as_of)}."
    )
    known = {*real.plan.warnings, *real.plan.purchasing.warnings}
    new_warnings = (*changed.plan.warnings, *changed.plan.purchasing.warnings)
    return Shown(
        table=table,
        new=_lacks(changed, [lack.row for lack in new_lacks(before, after)], today),
        gone=_lacks(real, [lack.row for lack in new_lacks(after, before)], today),
        late=newly_late(before, after),
        warnings=[warning for warning in new_warnings if warning not in known],
    )


def _outlook(planned: Planned) -> Outlook:
    return Outlook(
        planned.kitchen,
        planned.plan.window,
        planned.explosion,
        planned.plan.shortfalls,
        planned.words,
    )


def _figures(real: Planned, changed: Planned) -> Iterator[dict[str, object]]:
    for kind, name in KIND_NAMES.items():
        counts = [
            sum(row.kind is kind for row in planned.plan.shortfalls)
            for planned in (real, changed)
        ]
        yield {"name": name, "real": counts[0], "changed": counts[1]}
    mine, theirs = real.plan.purchasing, changed.plan.purchasing
    currency = real.bakery.currency
    yield {
        "name": "Deliveries to order",
        "real": len(mine.orders),
        "changed": len(theirs.orders),
    }
    for name, was, would in (
        ("Goods", mine.goods_cost, theirs.goods_cost),
        ("Delivery fees", mine.fees, theirs.fees),
        (
            "Orders in all",
            mine.total_cost,
            theirs.total_cost,
        ),
    ):
        yield {
            "name": name,
            "real": money_words(was, currency),
            "changed": money_words(would, currency),
        }


def _lacks(planned: Planned, rows: Iterable[Shortfall], today: date) -> list[Lack]:
    words, nodes = PageWords(planned, today), planned.kitchen.nodes
    return [
        Lack(
            item_id=nodes.ids[row.node],
            item_name=nodes.names[row.node],
            words=words.shortfall(row).words,
            remedy=words.remedy(row),
            mark="short" if row.kind is ShortfallKind.OUT else "low",
        )
        for row in rows
    ]
