"""What is said of a label: what was read on it, and what is not sure."""

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.calendar.calendar_words import date_words
from stock.labels.reading import Doubt, Doubtful, Label

MOST_QUOTED = 40  # characters of what could not be read
DATE_NAMES = {
    "use_by": gettext_lazy("use by"),
    "best_before": gettext_lazy("best before"),
    "sell_by": gettext_lazy("sell by"),
    "packed_on": gettext_lazy("packed on"),
    "made_on": gettext_lazy("made on"),
}


def doubt_words(doubt: Doubt) -> str:
    """Return what of a label is not sure, and what to do about it."""
    words = _SENTENCES[doubt.why]()
    day = day_of_label(doubt.day) if doubt.day else ""
    name = DATE_NAMES.get(doubt.name, doubt.name)
    return words.format(text=doubt.text[:MOST_QUOTED], name=name, day=day)


def doubts_words(label: Label) -> str:
    """Return all that is not sure of a label, in sentences; blank if all is."""
    return " ".join(doubt_words(doubt) for doubt in label.doubts)


def read_words(label: Label) -> str:
    """Return what a label says besides its item: lot AB12, use by Mon Dec 28, 2026."""
    parts = [_("lot {lot}").format(lot=label.lot)] if label.lot else []
    if day := label.last_day:
        parts.append(_("use by {day}").format(day=day_of_label(day)))
    if label.weight is not None:
        parts.append(f"{label.weight.normalize():f} {label.weight_unit}")
    return ", ".join(parts)


def day_of_label(day: date) -> str:
    """Return a date with its year, which a label's may get wrong."""
    return f"{date_words(day)}, {day.year}"


_SENTENCES = {
    Doubtful.CHECK_DIGIT: lambda: _(
        "Bar code {text} was misread: its check digit is wrong. Scan it again."
    ),
    Doubtful.STORE_NUMBER: lambda: _(
        "{text} is a store's own number. Choose the line yourself."
    ),
    Doubtful.NO_SUCH_DAY: lambda: _(
        "The label's {name} date, {text}, doesn't exist. Type it from the label."
    ),
    Doubtful.UNLIKELY_YEAR: lambda: _(
        "The label's {name} date reads {day}. Type it if it is right."
    ),
    Doubtful.SWALLOWED: lambda: _(
        "Where the lot ends is not sure: {text}. Type lot and use by."
    ),
    Doubtful.TWO_READINGS: lambda: _(
        "{text} can be a bar code or a date. Type what the label says."
    ),
    Doubtful.SAID_TWICE: lambda: _(
        "The label says {name} twice. {text} was left out. Check it."
    ),
    Doubtful.JUNK: lambda: _(
        "Some characters were misread and left out. Check lot and use by."
    ),
    Doubtful.UNREAD: lambda: _(
        "“{text}” on the label can't be read. Scan again, or type it."
    ),
}
