"""What a supplier answered to a line, in a sentence."""

from django.utils.translation import gettext as _

from planning.models import Answer
from planning.wording.delivery_words import packs_of_line
from stock.calendar.calendar_words import date_words

Kind = Answer.Kind


def answer_words(answer: Answer, supplier: str) -> str:
    """Return who says what: Mill confirms 3 of 5 bags of flour.

    No query: an answer comes with its pack, its line's pack and their items.
    """
    line = answer.line
    return _SENTENCES[Kind(answer.kind)]().format(
        supplier=supplier,
        item=line.pack.item.name,
        packs=packs_of_line(line, line.packs),
        some=f"{answer.packs or 0:,}",
        day=date_words(answer.due_on) if answer.due_on else "",
        instead=_instead(answer),
    )


def _instead(answer: Answer) -> str:
    if answer.pack is None:
        return ""
    return f"{answer.packs or 0:,} \N{MULTIPLICATION SIGN} {answer.pack.label}"


_SENTENCES = {
    Kind.CONFIRMED: lambda: _("{supplier} confirms {packs} of {item}."),
    Kind.SHORT: lambda: _("{supplier} confirms {some} of {packs} of {item}."),
    Kind.SUBSTITUTED: lambda: _("{supplier} brings {instead} instead of {item}."),
    Kind.REFUSED: lambda: _("{supplier} can't bring {item}."),
    Kind.LATER: lambda: _("{supplier} brings {item} on {day} instead."),
}
