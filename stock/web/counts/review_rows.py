"""What the review of a count says of each item, in sentences with their figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.counts.history import is_accurate
from stock.counts.lines import LineKey
from stock.counts.meanwhile import Moved
from stock.counts.review import PersonSaid, ReviewLine, ReviewRow
from stock.ledger.documents import takes_back
from stock.ledger.levels import COUNTING_KINDS
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.models import CountDecision, Movement
from stock.templatetags.words import moment_words, money
from stock.web.amounts import NONE, Amount, compared
from stock.web.counts.lines import field_name, lot_words, said_words
from stock.wording.names import person_name

Kind = Movement.Kind
MOVED_WORDS = {
    Kind.IMPORTED: gettext_lazy("set from a workbook"),
    Kind.CORRECTED: gettext_lazy("corrected by hand"),
    Kind.COUNTED: gettext_lazy("corrected by another count"),
    Kind.RECEIVED: "received",
    Kind.MADE: "made",
    Kind.USED: "used",
    Kind.WASTED: "wasted",
    Kind.MOVED: gettext_lazy("moved to another place"),
}
UNDONE_NOUNS = {
    Kind.COUNTED: "count",
    Kind.RECEIVED: "delivery",
    Kind.MADE: "making",
    Kind.USED: "use",
    Kind.WASTED: "waste",
    Kind.MOVED: "move",
}
MOVED_HERE_WORDS = gettext_lazy("moved here")
# Another figure than was entered, by whether somebody had decided for it before.
READING_WORDS = {False: gettext_lazy("Meant"), True: gettext_lazy("Decided before")}


@dataclass(frozen=True, slots=True)
class ReviewedLine:
    """One counted line of an item: who said what, and what is to be decided."""

    line: ReviewLine
    converter: Converter | None
    typed: tuple[str, ...] = ()  # on somebody's phone, and not entered

    @property
    def id(self) -> str:
        """The line as the page's forms name it."""
        return line_name(self.line.line.key)

    @property
    def where(self) -> str:
        """Its place, with the use-by that it is about."""
        key = self.line.line.key
        dated = lot_words(key.use_by, key.lot_code)
        place = self.line.line.place.name
        return f"{place}, {dated}" if dated else place

    @property
    def said_words(self) -> str:
        """Who said what: ada said “2c”, 2 cases; ben said “3 cases”."""
        return "; ".join(
            said_words(said.entry, said.words, self.converter)
            for said in self.line.said
        )

    @property
    def choices(self) -> list[tuple[str, str]]:
        """What can be decided with one tap: a value to send, and its words."""
        if not self.line.is_open:
            return []
        said = self.line.said
        if self.line.is_conflict:
            ones = [
                (_value(each), f"{self._teller(each)}: {each.words}") for each in said
            ]
        else:
            ones = [(_value(said[-1]), _("It is {words}").format(words=said[-1].words))]
        others = [
            (read.value, f"{READING_WORDS[read.decided]}: {self._named(read.text)}")
            for read in self.line.readings
        ]
        return [*ones, *others, *self._sum]

    def _named(self, text: str) -> str:
        return with_noun(text, self.converter) if self.converter else text

    @property
    def decided_words(self) -> str:
        """What was decided, and by whom; blank where nothing stands decided."""
        decision, decided_base = self.line.decision, self.line.decided_base
        if decision is None or decided_base is None:
            return ""
        by = decision.by
        words = Amount(decided_base, self.converter).words if self.converter else ""
        sentence = _("Decided by {person}: {words}.") if by else _("Decided: {words}.")
        return sentence.format(person=person_name(by), words=words or decision.text)

    @property
    def version(self) -> int:
        """Which decision the page has seen: a later one is not overwritten."""
        return self.line.decision.version if self.line.decision else 0

    @property
    def _sum(self) -> list[tuple[str, str]]:
        if len(self.line.said) < 2 or not self.line.is_conflict or not self.converter:
            return []
        total = sum((_base(said) for said in self.line.said), Decimal(0))
        return [
            (
                CountDecision.Choice.SUM,
                _("Added up: {amount}").format(amount=Amount(total, self.converter)),
            )
        ]

    def _teller(self, said: PersonSaid) -> str:
        """Return who said it; and when, where one person said two things."""
        name = said.person or "somebody"
        if sum(other.entry.by_id == said.entry.by_id for other in self.line.said) == 1:
            return name
        return f"{name}, {moment_words(said.entry.said_at, timezone.localdate())}"

    @property
    def remarks(self) -> list[str]:
        """What to know about the entries of this line, and what may come of it."""
        of_entries = [remark for said in self.line.said for remark in said.remarks]
        asked = tuple(
            _("“{text}” typed, not entered.").format(text=row.text)
            for row in self.line.typed
        )
        typed = [remark for remark in self.typed if not remark.endswith(asked)]
        return [*typed, *of_entries]

    @property
    def question(self) -> str:
        """What is still to be asked about the figure."""
        asked = [self.line.slip.sentence] if self.line.slip else []
        unread = [said.unread_sentence for said in self.line.unread]
        return " ".join([*unread, *self.line.typed_sentences, *asked])

    @property
    def again_url(self) -> str:
        """Where it is written again; blank unless something newer was not taken."""
        key = self.line.line.key
        page = reverse("stock:count_sheet", args=[self.count_id, key.place_id])
        is_replaced = self.line.unread or self.line.typed
        return f"{page}#{field_name(key)}" if is_replaced else ""

    @property
    def count_id(self) -> int:
        """The count that it belongs to."""
        return self.line.said[0].entry.count_id


@dataclass(frozen=True, slots=True)
class ReviewedItem:
    """One item of the review."""

    row: ReviewRow
    currency: str
    typed_by_line: Mapping[LineKey, Sequence[str]] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """The item."""
        return self.row.item.name

    @property
    def lines(self) -> list[ReviewedLine]:
        """Its counted lines, in walking order."""
        typed = self.typed_by_line
        return [
            ReviewedLine(line, self.row.converter, tuple(typed.get(line.line.key, ())))
            for line in self.row.lines
        ]

    @property
    def kind(self) -> str:
        """How the sentence is marked: hatched where something is missing."""
        variance_base = self.row.variance_base
        if self.row.is_open or (variance_base is not None and variance_base < 0):
            return "short"
        return "low" if variance_base else "well"

    @property
    def needs_a_look(self) -> bool:
        """Whether it is off, or something is to be asked, decided or known about it."""
        row = self.row
        if row.counted_base is None or self.remarks:
            return True
        if any(line.question or line.remarks for line in self.lines):
            return True
        return not is_accurate(row.counted_base, row.expected_base)

    @property
    def sentence(self) -> str:
        """What was counted beside the record, and what the variance costs."""
        if self.row.is_conflict:
            return _("{who_differ}. Decide which figure stands.").format(
                who_differ=self._who_differ
            )
        counted, recorded, variance = self._compared
        said = _("{counted} counted").format(counted=counted)
        if not self.row.variance_base:
            return _("{said}, as on record.").format(said=said)
        more = _("more") if self.row.variance_base > 0 else _("less")
        return _("{said}, {recorded} on record: {variance} {more}{cost}.").format(
            said=said, recorded=recorded, variance=variance, more=more, cost=self._cost
        )

    @property
    def remarks(self) -> list[str]:
        """Where else it is still to be counted, and what moved meanwhile."""
        remarks = [_moved_words(moved) for moved in self.row.moved]
        if self.row.not_counted_in:
            places = " and ".join(self.row.not_counted_in)
            remarks.append(
                _("Not counted in {places}: left there as it is on record.").format(
                    places=places
                )
            )
        return remarks

    @property
    def _who_differ(self) -> str:
        said = [
            said for line in self.row.lines if line.is_conflict for said in line.said
        ]
        if any(read.decided for line in self.row.lines for read in line.readings):
            return _("Counted again after it was decided, differently")
        if len({each.entry.by_id for each in said}) > 1:
            return _("Two people counted this and differ")
        return _("{value} counted this on two phones, differently").format(
            value=said[0].person or _("Somebody")
        )

    @property
    def _cost(self) -> str:
        if self.row.variance_cost is None:
            return _(", of unknown price")
        return f", {money(self.row.variance_cost, self.currency)}"

    @property
    def _compared(self) -> tuple[str, str, str]:
        """What was counted, what was on record and how far they are apart."""
        counted_base = self.row.counted_base or Decimal(0)
        recorded_base, converter = self.row.expected_base, self.row.converter
        if converter is not None:
            counted, recorded, variance = compared(
                counted_base, recorded_base, converter
            )
            return (
                counted.compared_words,
                recorded.compared_words,
                variance.size_words,
            )
        bases = (counted_base, recorded_base, abs(counted_base - recorded_base))
        said = [f"{base} {self.row.item.base_unit}" if base else NONE for base in bases]
        return said[0], said[1], said[2]


def line_name(key: LineKey) -> str:
    """Return the name of a line among all places of a count."""
    return f"{key.place_id}-{field_name(key)}"


def _moved_words(moved: Moved) -> str:
    movement = moved.movement
    when = moment_words(movement.at, timezone.localdate())
    if moved.is_undone:
        return _("{said} {when}, {undone_by}: nothing of it stands.").format(
            said=f"{moved.words} {MOVED_WORDS[Kind(movement.kind)]}",
            when=when,
            undone_by=_undone_by(movement),
        )
    said = f"{moved.words} {_what_moved(movement)} {when}"
    if not moved.is_after:
        return _("{said}, entered since: already in what is on record.").format(
            said=said
        )
    if movement.kind in COUNTING_KINDS:
        return _(
            "{said}, after the count's moment: clear this line on the sheet, "
            "so that what was set stands, or it would be corrected twice."
        ).format(said=said)
    if moved.before_entry:
        return _(
            "{said}, before the line was counted: it stays on top, so take "
            "care that it is not in the figure too."
        ).format(said=said)
    return _("{said}, after the count's moment: it stays on top.").format(said=said)


def _what_moved(movement: Movement) -> str:
    """Return what happened: received; off record, its delivery undone by ben,."""
    kind, came = Kind(movement.kind), movement.amount_base > 0
    if kind in UNDONE_NOUNS and takes_back(movement):
        back = _("back on record") if came else _("off record")
        return _("{back}, its {undone_nouns} {undone_by},").format(
            back=back,
            undone_nouns=UNDONE_NOUNS[kind],
            undone_by=_undone_by(movement),
        )
    return str(MOVED_HERE_WORDS if kind == Kind.MOVED and came else MOVED_WORDS[kind])


def _undone_by(movement: Movement) -> str:
    """Return that a movement undoes another, and who did: undone by ben."""
    person = person_name(movement.by)
    return _("undone by {person}").format(person=person) if person else _("undone")


def _value(said: PersonSaid) -> str:
    return str(said.entry.pk)


def _base(said: PersonSaid) -> Decimal:
    return said.entry.amount_base or Decimal(0)
