"""What is wrong with quantities and measures, in sentences."""

from collections.abc import Sequence

from stock.measure_faults import (
    FaultKind,
    Meaning,
    MeasureFault,
    Missing,
    OneMeasureFault,
)

# `such_as` is all that could be written instead, `first` the likeliest of it.
FAULTS = {
    FaultKind.TOO_LONG: "it is longer than {what} letters.",
    FaultKind.TOO_LARGE: "{what} is more than a bakery can hold.",
    FaultKind.ZERO_BELOW: (
        "{what} has a zero below the line. Write a fraction such as 1/2."
    ),
    FaultKind.NO_PROPER_FRACTION: (
        "{what} has a fraction that isn't part of one. Write {first} if you mean it."
    ),
    FaultKind.COMMA: "a comma cannot be read. Write {first}, not {what}.",
    FaultKind.NO_UNIT: "{what} has no unit. Write what it counts, such as {such_as}.",
    FaultKind.EMPTY: "it is empty. Write a number and a unit, such as {first}.",
    FaultKind.NOTHING_OF_WHAT: (
        "write none if there is nothing, or how much there is: {first}."
    ),
    FaultKind.NEGATIVE: (
        "it cannot be negative. Write how much there is, such as {first}."
    ),
    FaultKind.NO_NUMBER: "write a number before {what}, such as {first}.",
    FaultKind.MINUS: "it has a minus. Write how much there is, such as {first}.",
    FaultKind.DASH: "it has a dash. Write one number, such as 2.5 or 1 3/4.",
    FaultKind.MISSING_PART: (
        "something is missing beside the +. Write both, such as {first}."
    ),
    FaultKind.UNREADABLE: (
        '"{what}" cannot be read. Write a number and a unit, such as {first}.'
    ),
    FaultKind.MISPLACED_MARK: (
        '"{what}" cannot be read. Put + between two parts: {first}.'
    ),
    FaultKind.NOT_EXACT: "it has to be exact. Write one number, such as {first}.",
    FaultKind.CAN_SIZE: (
        "{what} is a can size. Write the can as the item's page names it, or another "
        "unit."
    ),
    FaultKind.POINT_BETWEEN: (
        "the point could end a word or start a number. Put a space there."
    ),
    FaultKind.NO_TARE: "the tare is missing. Write its weight, such as 2.15 lb.",
    FaultKind.TARE_TOO_HEAVY: "the tare is more than the scale shows.",
    FaultKind.TARE_NOT_LAST: "the tare comes last. Write 18.64 lb - bin.",
    FaultKind.UNKNOWN_TARE: (
        'no tare is called "{what}". Write its weight, or one of: {all}.'
    ),
    FaultKind.EMPTY_TARE: "an empty bin weighs something. Write 2.15 lb.",
    FaultKind.NOT_TWO_SIDES: "write two sides and one =, such as 1 cup = 125 g.",
    FaultKind.SIDE_IS_NOTHING: "one side is nothing. Write what each comes to.",
    FaultKind.CONTRADICTED: "{what} says otherwise. Keep one of them.",
    FaultKind.SEVERAL_UNITS: "write {what} in one unit.",
    FaultKind.NOT_A_UNIT: (
        '"{what}" isn\'t a unit. What one {what} holds belongs among its own units.'
    ),
    FaultKind.TWO_MEASURES: "{what} mixes two measures. Write each side in one.",
    FaultKind.NOT_WORD_AND_AMOUNT: (
        "write the word, one = and what it holds: stick = 4 oz."
    ),
    FaultKind.WORD_TWICE: '"{what}" is there twice. Keep one of them.',
    FaultKind.WORD_TOO_LONG: "write at most {what} letters.",
    FaultKind.NOT_A_WORD: "write a word of letters, such as {first}.",
    FaultKind.HOLDS_NOTHING: "one {what} must hold more than nothing.",
    FaultKind.HOLDS_OWN_WORD: "write it in units such as lb or each, not in {what}.",
}
NO_TARE_IS_KNOWN = 'no tare is called "{what}". Write its weight, such as 2.15 lb.'
BOTH_SIDES, NEITHER_SIDE = "both sides are", "neither side is"
REMEDIES = {
    Missing.FLUID_OR_WEIGHT_OF_CUP: (
        "Write fl oz if you mean the volume, or enter the weight of one cup on its "
        "page."
    ),
    Missing.WEIGHT_OF_UNIT: "Enter the weight of one {unit} on its page.",
    Missing.WEIGHT_OF_ONE: (
        "Enter the weight of one, such as 1 each = 50 g, on its page."
    ),
    Missing.WEIGHT_OF_CUP: "Enter the weight of one cup on its page.",
    Missing.VOLUME_OF_ONE: (
        "Enter the volume of one, such as 1 each = 30 mL, on its page."
    ),
    Missing.HOW_MANY_FILL_UNIT: "Enter how many fill one {unit} on its page.",
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
    hint = f"Did you mean {nearest}? " if nearest else ""
    return (
        f'"{word}" isn\'t a unit of {item_name}. {hint}Write {choice(units)}, or enter '
        f"what one {one or word} holds on its page."
    )


def no_equivalent_words(
    item_name: str, unit: str, kept_by: str, missing: Missing
) -> str:
    """Return that an item cannot turn a unit into its own measure, and the remedy."""
    return (
        f"{item_name}: kept by {kept_by}, and nothing says what 1 {unit} of it comes "
        f"to. {REMEDIES[missing].format(unit=unit)}"
    )


def clash_words(item_name: str, word: str, meaning: Meaning) -> str:
    """Return that a word of an item's own means something else already."""
    means = f"the unit {meaning.word}"
    if meaning.holds:
        means = f"{meaning.holds} ({meaning.word})"
    return (
        f'{item_name} cannot call something "{word}": it already means {means}. Choose '
        "another word."
    )


def readings_words(text: str, readings: Sequence[str], *, is_pack: bool = False) -> str:
    """Return that a text can be read in several ways, or in one that is doubtful."""
    if len(readings) == 1:
        return f'"{text}" is not clear. Did you mean {readings[0]}?'
    why = ", as suppliers write packs" if is_pack else ""
    return f'"{text}" could be {choice(readings)}{why}. Write one of them.'


def choice(words: Sequence[str]) -> str:
    """Return words as a choice; blank for none.

    >>> choice(["oz", "lb", "case"]), choice(["lb"])
    ('oz, lb or case', 'lb')
    """
    first, last = ", ".join(words[:-1]), "".join(words[-1:])
    return f"{first} or {last}" if first else last


def _one_measure_words(fault: OneMeasureFault) -> str:
    return (
        f"{fault.item_name}: kept by {fault.kept_by}, and "
        f"{BOTH_SIDES if fault.is_both else NEITHER_SIDE}. Write one side in "
        f"{fault.base_unit} or the like, the other in another measure."
    )
