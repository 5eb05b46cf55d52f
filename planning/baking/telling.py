"""What has just been made, in sentences, for pages and the command."""

from django.utils.translation import gettext as _

from planning.baking.planned import below_nothing
from planning.models import Bake
from planning.sentences.words import capitalized
from planning.wording.bake_words import bake_words, below_words, undone_words
from stock.calendar.calendar_words import date_words
from stock.calendar.calendars import parse_dates, parse_weekdays
from stock.conversion.converters import converters_for
from stock.models import Bakery


def made_sentences(bake: Bake, bakery: Bakery) -> list[str]:
    """Return what was made, with its use-by, and what to look at.

    That the bakery is closed on the day, and what went below nothing. Of what was
    undone since just that. About five queries.
    """
    if bake.undone_at is not None:
        return [undone_words(bake, bakery)]
    below = below_nothing(bake)
    known = converters_for({item_id for item_id, _other in below}) if below else {}
    return [
        _("{bake}: made{use_by}.").format(
            bake=capitalized(bake_words(bake)), use_by=_use_by_words(bake)
        ),
        *_closed(bake, bakery),
        *(
            below_words(known[item_id].item_name, base, known[item_id])
            for item_id, base in below
        ),
    ]


def _use_by_words(bake: Bake) -> str:
    made = bake.lines.filter(lot__item_id=bake.recipe_id, amount_base__gt=0)
    line = made.select_related("lot", "place").first()
    if line is None or bake.planned_cake_id is not None:
        return ""
    use_by = (
        _(", use by {date}").format(date=date_words(line.lot.use_by))
        if line.lot.use_by
        else ""
    )
    return _("{use_by}, lot {code}, in {name}").format(
        use_by=use_by, code=line.lot.code, name=line.place.name
    )


def _closed(bake: Bake, bakery: Bakery) -> list[str]:
    weekdays = parse_weekdays(bakery.closed_days)
    is_closed = bake.made_on.weekday() in weekdays or bake.made_on in parse_dates(
        bakery.closed_on
    )
    return (
        [_("The bakery is closed on {date}.").format(date=date_words(bake.made_on))]
        if is_closed
        else []
    )
