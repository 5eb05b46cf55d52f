"""How the planned cakes behind a figure are named: the first to be due comes first."""

from collections.abc import Callable, Iterable
from datetime import date

from django.utils.translation import ngettext

from planning.engine.kitchen import Kitchen
from planning.sentences.words import day_words

DayWords = Callable[[date], str]


def cakes_words(
    kitchen: Kitchen, references: Iterable[str], day: DayWords = day_words
) -> str:
    """Return the cakes of some lines of the bake plan in a few words.

    One is named in full: `Honey almond wedding cake, Sat Dec 12 (#2122)`; of several
    the number and the first day: `3 cakes, first Sat Dec 5`. Blank for none.
    """
    cakes = kitchen.cakes
    wanted = set(references)
    places = [n for n, known in enumerate(cakes.references) if known in wanted]
    if not places:
        return ""
    first = min(places, key=lambda place: cakes.due_on[place])
    due = day(cakes.due_on[first])
    name = kitchen.nodes.names[int(cakes.cake[first])]
    return ngettext(
        "{name}, {day} ({reference})", "{count} cakes, first {day}", len(places)
    ).format(
        name=name,
        day=due,
        reference=reference_words(cakes.references[first]),
        count=f"{len(places):,}",
    )


def reference_words(reference: str) -> str:
    """Return a reference as it is said; a bare number with its sign.

    >>> reference_words("2122"), reference_words("T-1")
    ('#2122', 'T-1')
    """
    return f"#{reference}" if reference[:1].isdigit() else reference
