"""What is read on pages in the pseudo-locale, and is neither marked nor data."""

import re
from html.parser import HTMLParser

from django.db import models

from planning.web.orders.order_files import FORMATS
from stock.backups.contents import kept_models
from stock.calendar.calendar_words import MONTHS_SHORT, WEEKDAYS
from stock.measures.nouns import singular
from stock.measures.units import Measure, units_of, word_forms
from stock.models import Item
from stock.site.pseudo_locale import CLOSE, OPEN

READ_ALOUD = ("aria-label", "title", "placeholder", "alt", "data-label")
# Said by what is pure beside its units.
OF_MEASURES = {"about", "minus", "minus about"}
# Of a published weight, as its table has it.
SOURCE = r"\([^\n]*, NDB \d+\)"
UNREAD = ("script", "style", "title")
WORD = re.compile(r"(?<!\w)[^\W\d_]{2,}(?!\w)")
BLOCKS = re.compile(r"[\n\r]+")


class Page(HTMLParser):
    """All that is read on a page: its text, and each attribute that is read aloud."""

    def __init__(self, markup):
        super().__init__()
        self.text, self.attributes, self.hidden = [], [], 0
        self.feed(markup)

    def handle_starttag(self, tag, attrs):
        self.hidden += tag in UNREAD
        self.text.append("\n")
        attrs = dict(attrs)
        self.attributes += [attrs[name] for name in READ_ALOUD if attrs.get(name)]

    def handle_endtag(self, tag):
        self.hidden -= tag in UNREAD
        self.text.append("\n")

    def handle_data(self, data):
        if not self.hidden:
            self.text.append(data)


def outside(text):
    """Yield what stands outside of all brackets, piece by piece."""
    depth, piece = 0, ""
    for sign in text:
        if sign == OPEN:
            depth += 1
        elif sign == CLOSE:
            if not depth:  # a plan's text has said before what its lines share
                piece = piece.rpartition("\n")[0]
            depth = max(0, depth - 1)
        elif depth == 0:
            piece += sign
            continue
        if piece.strip():
            yield piece.strip()
        piece = ""
    assert depth == 0, "a bracket is left open"
    if piece.strip():
        yield piece.strip()


def nouns_of(name):
    """Return what an item is called where it is counted: boards, board."""
    last = name.split(",")[0].split()[-1]
    return {last, singular(last), singular(name)}


def data_pattern():
    """Return what matches what people typed, dates and units."""
    typed = set()
    for model in kept_models():
        for field in model._meta.concrete_fields:
            is_text = isinstance(field, models.CharField | models.TextField)
            if is_text and not field.choices:
                typed |= set(model._base_manager.values_list(field.name, flat=True))
    units = {
        form
        for measure in Measure
        for unit in units_of(measure)
        for form in word_forms(unit.word)
    }
    days = {
        *WEEKDAYS,
        *(day[:3] for day in WEEKDAYS),
        *(day[:2] for day in WEEKDAYS),
        *MONTHS_SHORT,
        "am",
        "pm",
    }
    typed |= {form for item in Item.objects.all() for form in nouns_of(item.name)}
    typed |= set(re.findall(r"([^\W\d][\w ]*?) =", "\n".join(map(str, typed))))
    files = {ending.upper() for ending in FORMATS}
    texts = {str(text) for text in typed if text} | units | days | files | OF_MEASURES
    longest_first = sorted((text for text in texts if WORD.search(text)), key=len)
    either = "|".join(re.escape(text) for text in reversed(longest_first))
    return re.compile(rf"{SOURCE}|(?<!\w)(?:{either})(?:s|es)?(?!\w)", re.IGNORECASE)


def unmarked(markup, data):
    """Return the pieces of a page that are read, unmarked and no data."""
    page = Page(markup)
    pieces = [
        line.strip()
        for text in ("".join(page.text), *page.attributes)
        for piece in outside(text)
        for line in BLOCKS.split(piece)
    ]
    return {
        piece
        for piece in pieces
        if WORD.search(data.sub("", piece.replace("\N{NO-BREAK SPACE}", " ")))
    }
