"""What runs short, as sentences: by how much, from when, and what still saves it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _

from planning.engine.plan import Shortfall, ShortfallKind
from planning.plan.outlook import NewLack, Outlook, new_lacks, newly_late
from planning.sentences.words import listed
from planning.web.page_words import as_sentence, telling_from
from planning.wording.shortfall_words import (
    LookAhead,
    named_shortfall_words,
    remedy_words,
)

MOST_LACKS_NAMED = 3  # a phone shows no more of them at once


@dataclass(frozen=True, slots=True)
class ShortItem:
    """One item that runs short, as a page shows it."""

    item_id: int
    words: str
    remedy: str
    is_out: bool


def lacks_for(
    reference: str, ahead: LookAhead, shortfalls: Iterable[Shortfall], today: date
) -> list[ShortItem]:
    """Return what runs out, or falls below safety, on days when a cake needs it."""
    nodes, tell = ahead.kitchen.nodes, telling_from(today)
    return [
        ShortItem(
            nodes.ids[row.node],
            as_sentence(named_shortfall_words(ahead, row, tell)),
            as_sentence(remedy_words(ahead, row, tell)),
            is_out=row.kind is ShortfallKind.OUT,
        )
        for row in shortfalls
        if reference in row.cakes and row.kind is not ShortfallKind.BELOW_PAR
    ]


def change_sentences(before: Outlook, after: Outlook) -> list[str]:
    """Return what a change of the bake plan makes short or late, a sentence each."""
    lacks = new_lacks(before, after)
    sentences = [_new_lack(lack, after) for lack in lacks[:MOST_LACKS_NAMED]]
    if len(lacks) > MOST_LACKS_NAMED:
        more = len(lacks) - MOST_LACKS_NAMED
        sentences.append(
            format_html(
                _(
                    "It makes {} more short. "
                    '<a href="{}">Shortfalls names them all</a>.'
                ),
                more,
                reverse("planning:shortfalls"),
            )
        )
    return [*sentences, *_newly_late(before, after)]


def _new_lack(lack: NewLack, outlook: Outlook) -> str:
    row = lack.row
    name = outlook.kitchen.nodes.names[row.node]
    amount = outlook.words.content(row.node, lack.more_base)
    day = telling_from(outlook.window.from_on).on_day(row.first_on)
    if row.kind is not ShortfallKind.OUT:
        what = _("This takes {name} below safety {day}, by up to {amount}").format(
            name=name, day=day, amount=amount
        )
    elif lack.was_short:
        day = telling_from(outlook.window.from_on).on_day(lack.more_on)
        what = _("This makes {name} another {amount} short: out {day}").format(
            name=name, amount=amount, day=day
        )
        if lack.more_on != row.first_on:
            what = _(
                "This makes {name}, out already, another {amount} short {day}"
            ).format(name=name, amount=amount, day=day)
    else:
        what = _("This makes {name} run out {day}, {amount} short").format(
            name=name, day=day, amount=amount
        )
    of_its_day = replace(row, remedy=lack.remedy, first_on=lack.more_on)
    return f"{as_sentence(what)} {_remedy(outlook, of_its_day)}"


def _newly_late(before: Outlook, after: Outlook) -> Iterator[str]:
    if names := newly_late(before, after):
        said = listed(names, len(names))
        yield _("To be in time, {said} should have been made before today.").format(
            said=said
        )


def _remedy(outlook: Outlook, row: Shortfall) -> str:
    telling = telling_from(outlook.window.from_on)
    return as_sentence(remedy_words(outlook, row, telling))
