"""Text that means the same in every program that opens it.

A spreadsheet program takes text that starts with = + - @, a tab or a return for a
formula; a supplier's item called `=SUM(A1)` must stay a name.
"""

import re
import unicodedata

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
# What XML 1.0 cannot carry (section 2.2, Char): it is dropped, not escaped.
UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
LONGEST_NAME = 60


def looks_like_formula(text: str) -> bool:
    """Whether a spreadsheet program would reckon with this text."""
    return text.startswith(FORMULA_STARTS)


def writable(text: str) -> str:
    """Return the text without the characters that no workbook can hold.

    >>> writable("butter\\x07, salted")
    'butter, salted'
    """
    return UNWRITABLE.sub("", text)


def csv_text(text: str) -> str:
    """Return the text as a CSV cell that no program takes for a formula.

    A leading apostrophe is the spreadsheet programs' own mark for text.

    >>> csv_text("=1+1")
    "'=1+1"
    """
    clean = writable(text)
    return f"'{clean}" if looks_like_formula(clean) else clean


def file_stem(*parts: str) -> str:
    """Return a file name without its ending that every system takes.

    Letters without accents, digits and hyphens only, 60 at most; parts are joined by
    an underscore.

    >>> file_stem("2026-12-01", "Crème & Sons / Dairy")
    '2026-12-01_creme-sons-dairy'
    """
    words = []
    for part in parts:
        plain = unicodedata.normalize("NFKD", part).encode("ascii", "ignore").decode()
        word = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
        if word:
            words.append(word)
    return "_".join(words)[:LONGEST_NAME].rstrip("-_") or "order"
