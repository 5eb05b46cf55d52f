"""The arguments that the commands about counts share."""

from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from datetime import datetime

from django.contrib.auth import get_user_model
from django.utils import timezone
from django.utils.translation import gettext as _

from stock.counts.errors import CountError, UnknownCountError
from stock.entry.entries import folded
from stock.models import Bakery, Count, Place
from stock.wording import names


class CountArgumentError(CountError):
    """An argument that names nothing here."""


def add_count(parser: ArgumentParser) -> None:
    """Add --count: a number; default the only count that is open or in review."""
    parser.add_argument(
        "--count",
        type=int,
        metavar="N",
        help=_("its number; default: the only one that is open or in review"),
    )


def add_by(parser: ArgumentParser) -> None:
    """Add --by: who does it."""
    parser.add_argument("--by", metavar="NAME", help=_("who: their sign-in name"))


def live_count(number: int | None) -> Count:
    """Return the count of this number, or the only live one."""
    if number is not None:
        count = Count.objects.filter(pk=number).first()
        if count is None:
            raise UnknownCountError(number)
        return count
    live = list(Count.objects.filter(state__in=Count.LIVE_STATES).order_by("pk"))
    if not live:
        raise CountArgumentError(_("No count is open. Open one with open_count."))
    if len(live) > 1:
        numbers = ", ".join(str(count.pk) for count in live)
        raise CountArgumentError(
            _("Counts {numbers} are open. Say which one: --count {pk}").format(
                numbers=numbers, pk=live[0].pk
            )
        )
    return live[0]


def person_id(name: str | None) -> int | None:
    """Return the id of the person who signs in by this name; None for nobody."""
    if name is None:
        return None
    people = dict(get_user_model().objects.values_list("username", "pk"))
    ids = {folded(username): pk for username, pk in people.items()}
    if folded(name) not in ids:
        raise CountArgumentError(names.unknown("person", name, people))
    return ids[folded(name)]


def places_named(wanted: Sequence[str], known: Iterable[Place]) -> list[Place]:
    """Return the places of these names, or say which one is not there."""
    by_name = {folded(place.name): place for place in known}
    found = []
    for name in wanted:
        if folded(name) not in by_name:
            known_names = [place.name for place in by_name.values()]
            raise CountArgumentError(names.unknown("place", name, known_names))
        found.append(by_name[folded(name)])
    return found


def moment(text: str | None, now: datetime) -> datetime:
    """Return the moment that --at names, in the bakery's zone unless it says so."""
    if text is None:
        return now
    try:
        named = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise CountArgumentError(
            _('"{text}" isn\'t a moment. Write it like 2026-05-04T15:10.').format(
                text=text
            )
        ) from error
    if timezone.is_aware(named):
        return named
    return named.replace(tzinfo=Bakery.current().zone)


def local_words(at: datetime) -> str:
    """Return a moment by the bakery's clock: 2026-05-04 15:10."""
    zone = Bakery.current().zone
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"
