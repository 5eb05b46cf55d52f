"""How a search for better orders stands, and what it found beside the usual rule."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

import django_tables2 as tables
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.ordering.explain.order_comparison import wasted_costs
from planning.engine.plan import Purchasing
from planning.models import OrderSearch
from planning.plan.planner import Planned
from planning.search.searching import is_alive, with_found
from planning.sentences.words import capitalized
from planning.web.orders.order_tables import NUM
from planning.web.orders.wish_words import WishWords
from planning.wording.better_words import better_words, percent_words, stage_words
from stock.templatetags.words import moment_words, money
from stock.wording.names import person_name

State = OrderSearch.State

# By what some orders are better than others, wherever it is said that they are.
WHAT_COUNTS = gettext_lazy(
    "What counts is what is paid, less the worth of what is left over at the end and "
    "will be used"
)

# A search without wishes, and the plan with what it found.
Free = tuple[OrderSearch, Planned]


@dataclass(frozen=True, slots=True)
class ShownProgress:
    """How far a search has come that is still at work."""

    search_id: int
    words: str
    facts: list[tuple[str, str, str]]
    is_stopping: bool


def progress_of(search: OrderSearch, currency: str, now: datetime) -> ShownProgress:
    """Return how far a search has come."""
    stage = capitalized(stage_words(search.stage))
    is_stopping = search.stop_asked
    words = _("Stopping: the best so far comes in a moment") if is_stopping else stage
    seconds = max(int((now - search.started_at).total_seconds()), 0)
    facts = [(_("At work for"), f"{seconds} s", search.get_effort_display().lower())]
    if search.paid is not None:
        best = money(search.paid, currency)
        facts.append((_("Best so far"), best, _("delivery included")))
    if search.gap is not None:
        above = percent_words(search.gap)
        facts.append((_("Above the best possible"), above, _("at most")))
    return ShownProgress(search.pk, f"{words}.", facts, is_stopping)


def ended_words(search: OrderSearch, now: datetime) -> str:
    """Return why a search has nothing to show yet, or at all; blank if it has."""
    if is_alive(search, now):
        return running_words(search, now)
    if search.state == State.RUNNING and not is_alive(search, now):
        return _(
            "The search stopped unexpectedly, and what it had found is lost. "
            "Start it again."
        )
    if search.state == State.FAILED:
        return _("The search failed. {problem}").format(problem=search.problem)
    return ""


def running_words(search: OrderSearch, now: datetime) -> str:
    """Return that a search is at work and has nothing to be drafted yet."""
    since = moment_words(search.started_at, timezone.localdate(now))
    return _(
        "A search that was started {since} has not ended yet: stop it, or "
        "wait for what it finds."
    ).format(since=since)


def stale_words(search: OrderSearch, now: datetime) -> str:
    """Return that what was found belongs to the kitchen, or to the day, of then."""
    today = timezone.localdate(now)
    when = moment_words(search.started_at, today)
    if timezone.localdate(search.started_at) != today:
        return _(
            "Best orders were looked for {when}: a new day has begun since, "
            "and what was found then no longer fits. Look again."
        ).format(when=when)
    return _(
        "The kitchen has changed since best orders were looked for, "
        "{when}: what was found then no longer fits. Look again."
    ).format(when=when)


def found_words(better: Planned, search: OrderSearch, now: datetime) -> str:
    """Return what a search came to, in a sentence."""
    when = moment_words(search.started_at, timezone.localdate(now))
    how = (
        _("Stopped early, best so far of")
        if search.state == State.STOPPED
        else _("Found")
    )
    sent, counts = _sent_words(better, search), _counts_words(better, search)
    return f"{how} {when}: {better_words(better)}{sent} {counts}{_waste_words(better)}"


def _usual(better: Planned) -> Purchasing:
    return better.usual or better.plan.purchasing


def _counts_words(better: Planned, search: OrderSearch) -> str:
    """Return by what orders are called better, with the figures where known."""
    if _sent_count(better, search):
        return f"{WHAT_COUNTS}."
    left, currency = search.outcome or {}, better.bakery.currency
    found, usual = (
        money(way.total_cost - Decimal(left[key]), currency)
        for way, key in (
            (better.plan.purchasing, "left"),
            (_usual(better), "usual_left"),
        )
    )
    return _("{what_counts}: {found}, by the usual rule {usual}.").format(
        what_counts=WHAT_COUNTS, found=found, usual=usual
    )


def _wasted(*ways: Planned) -> list[Decimal]:
    """Return what found orders buy to go out of date; last the usual rule's."""
    planned = ways[0]
    return list(
        wasted_costs(
            planned.kitchen,
            planned.plan.window,
            planned.plan.demand,
            planned.deliveries,
            [*(each.plan.purchasing for each in ways), _usual(planned)],
        )
    )


def _waste_words(better: Planned) -> str:
    """Return what is bought to go out of date; blank where nothing is."""
    wasted, usual = _wasted(better)
    if not (wasted or usual):
        return ""
    currency = better.bakery.currency
    return _(
        " Of what they buy, {money} will expire, at what is paid; of the "
        "usual rule's, {money2}. What is left over is followed for four "
        "weeks, at the plan's average use."
    ).format(money=money(wasted, currency), money2=money(usual, currency))


def _sent_words(better: Planned, search: OrderSearch) -> str:
    """Return that some of what was found is on its way; blank if nothing is."""
    count = _sent_count(better, search)
    if not count:
        return ""
    if count == 1:
        return _(" One of its orders is sent already, and left out here.")
    return _(" {count} of its orders are sent already, and left out here.").format(
        count=count
    )


def _sent_count(better: Planned, search: OrderSearch) -> int:
    found = (search.outcome or {})["orders"]
    return len(found) - len(better.plan.purchasing.orders)


def found_in_short(planned: Planned, search: OrderSearch, now: datetime) -> str:
    """Return for the Orders page how the last search stands; blank if it is used."""
    if is_alive(search, now):
        return _("Best orders are being looked for just now.")
    if words := ended_words(search, now):
        return words
    better = with_found(planned, search)
    if better is None:
        return stale_words(search, now)
    return "" if search.drafted_at is not None else found_words(better, search, now)


def moved_on_words(last: OrderSearch | None, words: WishWords, sentence: str) -> str:
    """Return that somebody else has looked meanwhile, and around which wishes."""
    if last is None:
        return sentence
    who = person_name(last.started_by) if last.started_by else _("Somebody")
    when = moment_words(last.started_at, words.today)
    wishes = "; ".join(words.all(last.kept_wishes)) or "none"
    return _(
        "{who} has looked for orders since you opened this page, {when}. "
        "Wishes then: {wishes}. Yours are kept here; look again to replace "
        "what was found."
    ).format(who=who, when=when, wishes=wishes)


class ComparedTable(tables.Table):
    """Found orders beside others, in figures."""

    name = tables.Column("")
    found = tables.Column(gettext_lazy("Found"), attrs=NUM)
    free = tables.Column(gettext_lazy("Without wishes"), attrs=NUM)
    usual = tables.Column(gettext_lazy("Usual rule"), attrs=NUM)

    class Meta:
        orderable = False
        attrs = {"class": "order-list across"}


def compared_table(
    better: Planned, search: OrderSearch, free: Free | None = None
) -> ComparedTable:
    """Return what was found beside what the usual rule comes to, in figures.

    And beside the best that is known without the wishes, where there are any.
    """
    left = search.outcome or {}
    ways = {
        "found": (better.plan.purchasing, left["left"]),
        "usual": (_usual(better), left["usual_left"]),
    }
    wasted = dict(zip(("found", "usual"), _wasted(better), strict=True))
    if free is not None:
        ways["free"] = free[1].plan.purchasing, (free[0].outcome or {})["left"]
        wasted["free"] = _wasted(free[1])[0]
    paid = {key: way.total_cost for key, (way, _other) in ways.items()}
    figures = {"Goods and delivery": paid}
    if not _sent_count(better, search):  # what is left is known for all of it alone
        worth = {key: Decimal(over) for key, (_other, over) in ways.items()}
        figures["Worth of what is left over and will be used"] = worth
        figures["What counts: the first less the second"] = {
            key: paid[key] - worth[key] for key in ways
        }
    figures["Delivery alone"] = {key: way.fees for key, (way, _other) in ways.items()}
    figures["Expired, at what is paid"] = wasted
    currency = better.bakery.currency
    rows = [
        {"name": name} | {key: money(value, currency) for key, value in row.items()}
        for name, row in figures.items()
    ]
    counts = {key: str(len(way.orders)) for key, (way, _other) in ways.items()}
    rows.append({"name": _("Deliveries")} | counts)
    table = ComparedTable(rows, exclude=() if free else ("free",))
    if free is not None:  # too wide for a phone: there each row becomes a block
        table.attrs = {"class": "order-list"}
    table.caption = _(
        "What was found beside the usual rule, money in {currency}."
    ).format(currency=currency)
    return table


def wish_cost_words(better: Planned, search: OrderSearch, free: Free | None) -> str:
    """Return what the wishes cost, against the best that is known without them."""
    if free is None:
        return _(
            "What these wishes cost is not known: nothing was looked for without them "
            "in this kitchen as it is now."
        )
    found = better.plan.purchasing
    paid = found.total_cost - free[1].plan.purchasing.total_cost
    said = _more_words(paid, _more_left(better, search, free[0]), better)
    is_short = (search.outcome or {}).get("left_short", False)
    but = _(", but they leave short what stands below") if is_short else ""
    return f"{said}{but}."


def _more_left(
    better: Planned, search: OrderSearch, free: OrderSearch
) -> Decimal | None:
    """Return how much more is left over at the end, at its worth; None if unknown."""
    if _sent_count(better, search):
        return None
    over, without = ((each.outcome or {})["left"] for each in (search, free))
    return Decimal(over) - Decimal(without)


def _more_words(paid: Decimal, left: Decimal | None, better: Planned) -> str:
    """Return what more is paid, what more of it is left, and the difference."""
    currency = better.bakery.currency
    if left is None:
        paid_words = _than_words(paid, currency)
        if not paid_words:
            return _("With these wishes as much is paid as without them")
        return _("With these wishes {paid} is paid than without them").format(
            paid=paid_words
        )
    counts = _than_words(paid - left, currency)
    said = (
        _("With these wishes it is {counts} than the best found without them").format(
            counts=counts
        )
        if counts
        else _("These wishes cost nothing against the best found without them")
    )
    if not left:
        return said
    paid_words = _than_words(paid, currency) or _("the same")
    left_words = _than_words(left, currency)
    return _(
        "{said}: {paid} is paid, and the worth of what is left over at the "
        "end and will be used is {left}"
    ).format(said=said, paid=paid_words, left=left_words)


def _than_words(more: Decimal, currency: str) -> str:
    """Return a difference in money: $3.00 less; blank if there is none."""
    if not more:
        return ""
    return f"{money(abs(more), currency)} {'more' if more > 0 else 'less'}"
