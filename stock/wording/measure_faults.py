"""What is wrong with quantities and measures, in sentences."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.measure_faults import (
    FaultKind,
    Meaning,
    MeasureFault,
    Missing,
    OneMeasureFault,
)
from stock.wording.names import capitalized

# `such_as` is all that could be written instead, `first` the likeliest of it.
FAULTS = {
    FaultKind.TOO_LONG: gettext_lazy("it is longer than {what} letters."),
    FaultKind.TOO_LARGE: gettext_lazy("{what} is more than a bakery can hold."),
    FaultKind.ZERO_BELOW: gettext_lazy(
        "{what} has a zero below the line. Write a fraction such as 1/2."
    ),
    FaultKind.NO_PROPER_FRACTION: gettext_lazy(
        "{what} has a fraction that isn't part of one. Write {first} if you mean it."
    ),
    FaultKind.COMMA: gettext_lazy("a comma cannot be read. Write {first}, not {what}."),
    FaultKind.NO_UNIT: gettext_lazy(
        "{what} has no unit. Write what it counts, such as {such_as}."
    ),
    FaultKind.EMPTY: gettext_lazy(
        "it is empty. Write a number and a unit, such as {first}."
    ),
    FaultKind.NOTHING_OF_WHAT: gettext_lazy(
        "write none if there is nothing, or how much there is: {first}."
    ),
    FaultKind.NEGATIVE: gettext_lazy(
        "it cannot be negative. Write how much there is, such as {first}."
    ),
    FaultKind.NO_NUMBER: gettext_lazy("write a number before {what}, such as {first}."),
    FaultKind.MINUS: gettext_lazy(
        "it has a minus. Write how much there is, such as {first}."
    ),
    FaultKind.DASH: gettext_lazy(
        "it has a dash. Write one number, such as 2.5 or 1 3/4."
    ),
    FaultKind.MISSING_PART: gettext_lazy(
        "something is missing beside the +. Write both, such as {first}."
    ),
    FaultKind.UNREADABLE: gettext_lazy(
        '"{what}" cannot be read. Write a number and a unit, such as {first}.'
    ),
    FaultKind.MISPLACED_MARK: gettext_lazy(
        '"{what}" cannot be read. Put + between two parts: {first}.'
    ),
    FaultKind.NOT_EXACT: gettext_lazy(
        "it has to be exact. Write one number, such as {first}."
    ),
    FaultKind.CAN_SIZE: gettext_lazy(
        "{what} is a can size. Write the can as the item's page names it, or another "
        "unit."
    ),
    FaultKind.POINT_BETWEEN: gettext_lazy(
        "the point could end a word or start a number. Put a space there."
    ),
    FaultKind.NO_TARE: gettext_lazy(
        "the tare is missing. Write its weight, such as 2.15 lb."
    ),
    FaultKind.TARE_TOO_HEAVY: gettext_lazy("the tare is more than the scale shows."),
    FaultKind.TARE_NOT_LAST: gettext_lazy("the tare comes last. Write 18.64 lb - bin."),
    FaultKind.UNKNOWN_TARE: gettext_lazy(
        'no tare is called "{what}". Write its weight, or one of: {all}.'
    ),
    FaultKind.EMPTY_TARE: gettext_lazy("an empty bin weighs something. Write 2.15 lb."),
    FaultKind.NOT_TWO_SIDES: gettext_lazy(
        "write two sides and one =, such as 1 cup = 125 g."
    ),
    FaultKind.SIDE_IS_NOTHING: gettext_lazy(
        "one side is nothing. Write what each comes to."
    ),
    FaultKind.CONTRADICTED: gettext_lazy("{what} says otherwise. Keep one of them."),
    FaultKind.SEVERAL_UNITS: gettext_lazy("write {what} in one unit."),
    FaultKind.NOT_A_UNIT: gettext_lazy(
        '"{what}" isn\'t a unit. What one {what} holds belongs among its own units.'
    ),
    FaultKind.TWO_MEASURES: gettext_lazy(
        "{what} mixes two measures. Write each side in one."
    ),
    FaultKind.NOT_WORD_AND_AMOUNT: gettext_lazy(
        "write the word, one = and what it holds: stick = 4 oz."
    ),
    FaultKind.WORD_TWICE: gettext_lazy('"{what}" is there twice. Keep one of them.'),
    FaultKind.WORD_TOO_LONG: gettext_lazy("write at most {what} letters."),
    FaultKind.NOT_A_WORD: gettext_lazy("write a word of letters, such as {first}."),
    FaultKind.HOLDS_NOTHING: gettext_lazy("one {what} must hold more than nothing."),
    FaultKind.HOLDS_OWN_WORD: gettext_lazy(
        "write it in units such as lb or each, not in {what}."
    ),
}
NO_TARE_IS_KNOWN = gettext_lazy(
    'no tare is called "{what}". Write its weight, such as 2.15 lb.'
)
BOTH_SIDES, NEITHER_SIDE = (
    gettext_lazy("both sides are"),
    gettext_lazy("neither side is"),
)
REMEDIES = {
    Missing.FLUID_OR_WEIGHT_OF_CUP: gettext_lazy(
        "Write fl oz if you mean the volume, or enter the weight of one cup on its "
        "page."
    ),
    Missing.WEIGHT_OF_UNIT: gettext_lazy("Enter the weight of one {unit} on its page."),
    Missing.WEIGHT_OF_ONE: gettext_lazy(
        "Enter the weight of one, such as 1 each = 50 g, on its page."
    ),
    Missing.WEIGHT_OF_CUP: gettext_lazy("Enter the weight of one cup on its page."),
    Missing.VOLUME_OF_ONE: gettext_lazy(
        "Enter the volume of one, such as 1 each = 30 mL, on its page."
    ),
    Missing.HOW_MANY_FILL_UNIT: gettext_lazy(
        "Enter how many fill one {unit} on its page."
    ),
}


def fault_words(fault: MeasureFault | OneMeasureFault) -> str:
    """Return what is wrong and what to write, as the second half of a sentence.

    >>> fault_words(MeasureFault(FaultKind.NO_NUMBER, "lb", ("2 lb",)))
    'write a number before lb, such as 2 lb.'
    """
    if isinstance(fault, OneMeasureFault):
        return _one_measure_words(fault)
    template = FAULTS[fault.kind]
    if fault.kind is FaultKind.UNKNOWN_TARE and not fault.such_as:
        template = NO_TARE_IS_KNOWN
    return template.format(
        what=fault.what,
        first=fault.such_as[0] if fault.such_as else "",
        such_as=choice(fault.such_as),
        all=", ".join(fault.such_as),
    )


def unknown_unit_words(
    item_name: str, word: str, nearest: str | None, units: Sequence[str], one: str
) -> str:
    """Return that a word isn't a unit of an item; `one` is the word's singular."""
    hint = _("Did you mean {nearest}? ").format(nearest=nearest) if nearest else ""
    return _(
        '"{word}" isn\'t a unit of {item_name}. {hint}Write {choice}, or '
        "enter what one {value} holds on its page."
    ).format(
        word=word,
        item_name=item_name,
        hint=hint,
        choice=choice(units),
        value=one or word,
    )


def no_equivalent_words(
    item_name: str, unit: str, kept_by: str, missing: Missing
) -> str:
    """Return that an item cannot turn a unit into its own measure, and the remedy."""
    return capitalized(
        _(
            "{item_name}: kept by {kept_by}, and nothing says what 1 {unit} of "
            "it comes to. {remedies}"
        ).format(
            item_name=item_name,
            kept_by=kept_by,
            unit=unit,
            remedies=REMEDIES[missing].format(unit=unit),
        )
    )


def length_words(text: str) -> str:
    """Return that a length cannot be read, and how to write one."""
    return _(
        '"{text}" isn\'t a valid length. Write a number above 0 and in or cm, such as '
        "1.5 in."
    ).format(text=text)


def too_large_words(item_name: str, text: str) -> str:
    """Return that nobody holds so much of an item."""
    return _(
        "{text} of {item_name} is more than a bakery can hold. Check the number and "
        "its unit."
    ).format(text=text, item_name=item_name)


def clash_words(item_name: str, word: str, meaning: Meaning) -> str:
    """Return that a word of an item's own means something else already."""
    means = _("the unit {word}").format(word=meaning.word)
    if meaning.holds:
        means = f"{meaning.holds} ({meaning.word})"
    return capitalized(
        _(
            '{item_name} cannot call something "{word}": it already means '
            "{means}. Choose another word."
        ).format(item_name=item_name, word=word, means=means)
    )


def readings_words(text: str, readings: Sequence[str], *, is_pack: bool = False) -> str:
    """Return that a text can be read in several ways, or in one that is doubtful."""
    if len(readings) == 1:
        return _('"{text}" is not clear. Did you mean {readings}?').format(
            text=text, readings=readings[0]
        )
    sentence = (
        _('"{text}" could be {choice}, as suppliers write packs. Write one of them.')
        if is_pack
        else _('"{text}" could be {choice}. Write one of them.')
    )
    return sentence.format(text=text, choice=choice(readings))


def choice(words: Sequence[str]) -> str:
    """Return words as a choice; blank for none.

    >>> choice(["oz", "lb", "case"]), choice(["lb"])
    ('oz, lb or case', 'lb')
    """
    first, last = ", ".join(words[:-1]), "".join(words[-1:])
    return _("{first} or {last}").format(first=first, last=last) if first else last


def _one_measure_words(fault: OneMeasureFault) -> str:
    return capitalized(
        _(
            "{item_name}: kept by {kept_by}, and {both_sides}. Write one side "
            "in {base_unit} or the like, the other in another measure."
        ).format(
            item_name=fault.item_name,
            kept_by=fault.kept_by,
            both_sides=BOTH_SIDES if fault.is_both else NEITHER_SIDE,
            base_unit=fault.base_unit,
        )
    )
