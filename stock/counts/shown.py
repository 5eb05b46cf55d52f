"""What a page of a count has shown; a step from a page that is stale is refused."""

from collections.abc import Iterable
from fractions import Fraction
from hashlib import sha256
from typing import NamedTuple

from django.utils.translation import gettext as _

from stock.counts.errors import CountMovedOnError, UndoneSinceError
from stock.counts.lines import counted_lines
from stock.counts.lots import expected_base_by_line
from stock.counts.sheets import Look
from stock.counts.states import undone_text
from stock.ledger.documents import count_of, takes_back
from stock.measures.nouns import with_noun
from stock.measures.reading.spoken import stated_words
from stock.models import CountDecision, CountEntry, CountTyped, Movement
from stock.wording.names import person_name

SAID = (CountEntry.Kept.TAKEN, CountEntry.Kept.UNREADABLE)
SHORT_DIGEST_LETTERS = 16
APART = "|"  # in none of the parts


class Shown(NamedTuple):
    """All that the figures of a review were made of, each part as text."""

    undone: str  # when the count was last undone; blank if never
    entries: str  # the newest entry: blank marks, answers to questions too
    decisions: str  # how often anything was decided
    record: str  # what was on record of each counted line
    words: str  # how figures are said: packs, units, conversions
    typed: str  # the newest of what phones told is typed, not entered

    def __str__(self) -> str:
        return APART.join(self)


def shown(seen: Look) -> Shown:
    """Return what a page made from this look shows. No query."""
    expected = expected_base_by_line(seen.standings, seen.walk.on_hand)
    decided = [each.decision for each in seen.standings.values() if each.decision]
    said = [entry.pk for entry in seen.entries if entry.kept in SAID]
    return Shown(
        undone=undone_text(seen.walk.count),
        entries=str(max(said, default=0)),
        decisions=str(sum(decision.version for decision in decided)),
        record=_digest(
            f"{line} {amount_base.normalize()}"
            for line, amount_base in expected.items()
        ),
        words=_digest(_figures_said(seen)),
        typed=str(max((row.pk for row in seen.typed), default=0)),
    )


def refuse_changed(seen: Look, page: str | None, step: str) -> None:
    """Refuse a step from a page that shows something else than stands now.

    `page` is the text of the `Shown` that it was made with; None: nobody looked at one.
    The error says what changed first, and who changed it. What was typed on a phone and
    is not there any more changes nothing. At most one query.
    """
    if page is None or page == str(shown(seen)):
        return
    count, then, now = seen.walk.count, page.split(APART), shown(seen)
    if then[0] != now.undone:
        raise UndoneSinceError(person_name(count.undone_by))
    if len(then) != len(now):  # made before this was kept, or by nobody's page
        raise CountMovedOnError(_("What a review shows changed"), step)
    was = Shown(*then)
    if was.entries != now.entries:
        what = _entered(seen)
    elif was.decisions != now.decisions:
        what = _decided(seen)
    elif was.record != now.record:
        what = _moved(seen)
    elif was.words == now.words:
        if not _is_typed_since(was, now):
            return
        what = _typed(int(now.typed))
    else:
        what = _("A unit or a conversion of what was counted changed")
    raise CountMovedOnError(what, step)


def _is_typed_since(was: Shown, now: Shown) -> bool:
    """Whether something is typed now that the page had not shown."""
    shown_id = int(was.typed) if was.typed.isdecimal() else 0
    return int(now.typed) > shown_id


def _digest(parts: Iterable[str]) -> str:
    return sha256("\n".join(sorted(parts)).encode()).hexdigest()[:SHORT_DIGEST_LETTERS]


def _figures_said(seen: Look) -> Iterable[str]:
    for line, standing in seen.standings.items():
        converter = seen.converters.get(line.item_id)
        for entry in standing.entries:
            if entry.amount_base is not None and converter is not None:
                yield f"{line} {stated_words(Fraction(entry.amount_base), converter)}"


def _entered(seen: Look) -> str:
    said = [entry for entry in seen.entries if entry.kept in SAID]
    if not said:  # no page of ours showed one
        return _("What a review shows changed")
    newest = max(said, key=lambda entry: entry.pk)
    who = person_name(newest.by) or _("Somebody")
    where = _("{name} in {name2}").format(
        name=newest.item.name, name2=newest.place.name
    )
    if not newest.text:
        return _("{who} cleared {where}").format(who=who, where=where)
    return _('{who} entered "{quoted}" of {where}').format(
        who=who, quoted=newest.quoted, where=where
    )


def _decided(seen: Look) -> str:
    decided = CountDecision.objects.filter(count=seen.walk.count, version__gt=0)
    newest = decided.select_related("by", "item", "place").order_by("at", "pk").last()
    if newest is None:  # as above
        return _("What a review shows changed")
    who = person_name(newest.by) or _("Somebody")
    where = _("{name} in {name2}").format(
        name=newest.item.name, name2=newest.place.name
    )
    if not newest.choice:
        return _("{who} undid the decision on {where}").format(who=who, where=where)
    converter = seen.converters.get(newest.item_id)
    text = with_noun(newest.text, converter) if converter else newest.text
    return _('{who} chose "{text}" for {where}').format(who=who, text=text, where=where)


def _typed(newest_id: int) -> str:
    row = CountTyped.objects.select_related("device__by", "item", "place").get(
        pk=newest_id
    )
    return _("{person} typed “{text}” of {item} in {place}, not entered,").format(
        person=person_name(row.device.by) or _("Somebody"),
        text=row.text,
        item=row.item.name,
        place=row.place.name,
    )


def _moved(seen: Look) -> str:
    """Return what was booked last at or before the count's moment, where it counted."""
    count, lines = seen.walk.count, counted_lines(seen.standings)
    moved = Movement.objects.filter(
        at__lte=count.counted_at,
        place_id__in={line.place_id for line in lines},
        item_id__in={line.item_id for line in lines},
    )
    newest = moved.select_related("by", "item", "move", "place").order_by("pk").last()
    if newest is None:
        return _("What is on record changed")
    who = person_name(newest.by)
    what = newest.get_kind_display().lower()
    if count_of(newest) is not None and takes_back(newest):
        what = _("count undone")
    how = _("{what} by {who}").format(what=what, who=who) if who else what
    return _("The record of {name} in {name2} changed ({how})").format(
        name=newest.item.name, name2=newest.place.name, how=how
    )
