"""What a count refuses, each with a sentence that says what to do."""

from collections.abc import Iterable
from datetime import date

from django.utils.translation import gettext as _

from stock.calendar.calendars import too_far_away
from stock.errors import StockError
from stock.wording.names import capitalized


class CountError(StockError):
    """The base of everything that a count refuses."""


class PlaceBeingCountedError(CountError):
    """A place that another open count walks already."""

    def __init__(self, place_names: Iterable[str], count_id: int | None = None) -> None:
        self.place_names = tuple(place_names)
        self.count_id = count_id
        which = (
            _("count {count_id}").format(count_id=count_id)
            if count_id
            else _("another count")
        )
        super().__init__(
            capitalized(
                _(
                    "{place_names}: being counted already in {which}. Go on with that "
                    "one, or post or discard it first."
                ).format(place_names=", ".join(self.place_names), which=which)
            )
        )


class NothingToWalkError(CountError):
    """A count of no place."""

    def __init__(self) -> None:
        super().__init__(_("Choose at least one place to count."))


class UnknownCountError(CountError):
    """A count that is not there."""

    def __init__(self, count_id: int) -> None:
        super().__init__(
            _("There is no count {count_id}. Open one first.").format(count_id=count_id)
        )
        self.count_id = count_id


class CountStateError(CountError):
    """Something that a count in this state cannot do any more, or not yet."""

    def __init__(self, count_id: int, state: str, way_out: str) -> None:
        super().__init__(
            _("Count {count_id} is {state}. {way_out}").format(
                count_id=count_id, state=state, way_out=way_out
            )
        )
        self.count_id = count_id
        self.state = state


class NothingCountedError(CountError):
    """A count without a single figure: posting it would say nothing."""

    def __init__(self, count_id: int) -> None:
        super().__init__(
            _(
                "Nothing has been counted in count {count_id}. Enter what is on "
                "the shelves, or discard the count."
            ).format(count_id=count_id)
        )
        self.count_id = count_id


class UndecidedError(CountError):
    """Lines that are to be decided: two people differ, or a figure may be a slip.

    Or a newer entry could not be read, or was typed and not entered: `unread` and
    `typed` are lines with what it says.
    """

    def __init__(
        self,
        differing: Iterable[str],
        asked: Iterable[str] = (),
        unread: Iterable[str] = (),
        typed: Iterable[str] = (),
        remedy: str = "",
    ) -> None:
        self.differing, self.asked = tuple(differing), tuple(asked)
        self.unread, self.typed = tuple(unread), tuple(typed)
        kinds = (
            (_("Counted twice with different figures"), self.differing),
            (_("Asked about, and not answered yet"), self.asked),
            (_("Entered last, and not readable"), self.unread),
            (_("Typed last, and not entered"), self.typed),
        )
        said = [f"{kind}: {', '.join(names)}." for kind, names in kinds if names]
        super().__init__(
            " ".join(
                [*said, remedy or _("Decide which figure stands for each, then post.")]
            )
        )


class LineGoneError(CountError):
    """A line or a figure that the review does not show any more."""

    def __init__(self) -> None:
        super().__init__(_("This line is not in the review now. Look at it again."))


class EnteredSinceError(CountError):
    """A decision from a page that is older than an entry of its line."""

    def __init__(self, person: str, text: str) -> None:
        self.person, self.text = person, text
        super().__init__(
            _(
                '{value} entered "{value2}" here after you opened this page. Look '
                "at the line again, then decide."
            ).format(value=person or _("Somebody"), value2=text or _("blank"))
        )


class DecidedSinceError(CountError):
    """A decision on a line that somebody else has decided meanwhile."""

    def __init__(self, person: str, text: str) -> None:
        self.person, self.text = person, text
        who = person or _("Somebody")
        done = (
            _('{who} chose "{text}"').format(who=who, text=text)
            if text
            else _("{who} took the decision back").format(who=who)
        )
        super().__init__(
            _(
                "{done} while you were looking. Look at the line again, then decide."
            ).format(done=done)
        )


class NoteChangedError(CountError):
    """A note on a line that got another one meanwhile."""

    def __init__(self, text: str) -> None:
        self.text = text
        now = (
            _('It says "{text}" now').format(text=text) if text else _("It was removed")
        )
        super().__init__(
            _(
                "Somebody edited this note while you were looking. {now}. Write "
                "yours again beside it."
            ).format(now=now)
        )


class UnknownCountingUnitError(CountError):
    """A unit that an item cannot be counted in."""

    def __init__(self, item_name: str, unit: str) -> None:
        super().__init__(
            capitalized(
                _(
                    '{item_name} has no unit "{unit}" now. Choose one of the list on '
                    "its page."
                ).format(item_name=item_name, unit=unit)
            )
        )
        self.unit = unit


class UnitChosenSinceError(CountError):
    """A counting unit that somebody else chose meanwhile."""

    def __init__(self, item_name: str, unit: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name}: Somebody chose {value} meanwhile. Look again, then "
                    "choose."
                ).format(item_name=item_name, value=unit or _("no unit"))
            )
        )
        self.unit = unit


class DependedOnError(CountError):
    """A posted count whose figures others have built on since."""

    def __init__(self, count_id: int, reasons: Iterable[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(
            _(
                "Count {count_id} cannot be undone: {reasons}. Set what is wrong "
                "by hand, or count it again."
            ).format(count_id=count_id, reasons="; ".join(self.reasons))
        )
        self.count_id = count_id


class CountMovedOnError(CountError):
    """A step from a page of a count that shows something else than stands now."""

    def __init__(self, what: str, step: str) -> None:
        super().__init__(
            _(
                "{what} after you opened this page. Look at it again, then {step}."
            ).format(what=what, step=step)
        )
        self.what = what


class UndoneSinceError(CountError):
    """A step from a page that was opened before the count was undone."""

    def __init__(self, person: str) -> None:
        super().__init__(
            _(
                "{value} undid the count after you opened this page. Look at the "
                "review again."
            ).format(value=person or _("Somebody"))
        )
        self.person = person


class MomentAheadError(CountError):
    """A count as of a moment that has not come yet."""

    def __init__(self) -> None:
        super().__init__(
            _("The moment of a count cannot lie ahead. Choose now, or when you began.")
        )


class MomentTooFarError(CountError):
    """A count as of a day that nobody can mean."""

    def __init__(self, day: date) -> None:
        super().__init__(
            _("Moment of the count: {too_far_away}").format(
                too_far_away=too_far_away(day)
            )
        )
        self.day = day


class OddUseByError(CountError):
    """Figures of use-bys that nobody can mean: item, place and day of each."""

    def __init__(self, lines: Iterable[tuple[str, str, date | None]]) -> None:
        self.lines = tuple(lines)
        named = "; ".join(
            _("{item} in {place}, use by {day}").format(item=item, place=place, day=day)
            for item, place, day in self.lines
        )
        super().__init__(
            capitalized(
                _(
                    "{lines}: no such year. Clear it on its sheet, then count it with "
                    "the right date."
                ).format(lines=named)
            )
        )


class CountedSinceError(CountError):
    """A count as of a moment before a posted count of the same place."""

    def __init__(self, place_name: str, count_id: int) -> None:
        super().__init__(
            capitalized(
                _(
                    "{place_name}: counted since, in count {count_id}, as of a later "
                    "moment. A count from before would correct it twice. Choose a "
                    "later moment, or now."
                ).format(place_name=place_name, count_id=count_id)
            )
        )
        self.place_name = place_name
        self.count_id = count_id


class CorrectedSinceError(CountError):
    """Items that somebody set right after the moment of the count."""

    def __init__(self, item_names: Iterable[str]) -> None:
        self.item_names = tuple(item_names)
        super().__init__(
            _(
                "Set right since the count's moment: {item_names}. Posting would "
                "correct it twice. Clear its line on the sheet, so that what was "
                "set stands; then post, and count it again if you doubt it."
            ).format(item_names=", ".join(self.item_names))
        )
