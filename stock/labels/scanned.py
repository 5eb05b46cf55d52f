"""What a scanner typed, cut into the pieces that its label keeps apart.

A scanner that works as a keyboard types the bar code's text, perhaps with what kind
of bar code it was in front (`]C1`), and for the separator FNC1 the character ASCII 29,
nothing, or what its keyboard layout makes of that. No character outside of GS1's set
of 82 belongs to a label (GS1 General Specifications, figure 7.11-1), so each of them
parts two pieces.
"""

import re
from typing import NamedTuple

from biip import ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier

# What stands for FNC1: the group separator, its picture, how some scanners spell it.
SEPARATOR = re.compile(r"[\x1d\u241d\u00e8|~]|<GS>|\{GS\}|\^\]")
# By name: to Python the separator is white space too.
BLANK = re.compile("[ \t\r\n\N{NO-BREAK SPACE}]+")
KIND = re.compile(r"\][A-Za-z][0-9A-Za-z]")
NOT_OF_A_LABEL = re.compile(r"[^!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+")
TYPED_IDENTIFIER = re.compile(r"\(([0-9]{2,4})\)")

GS1_KINDS = {"]C1", "]e0", "]d2", "]Q3", "]J1"}
ITEM_KINDS = {"]E0", "]E4", "]I0", "]I1"}


class Piece(NamedTuple):
    """A part of a label's text that one separator or the end closes."""

    text: str
    is_closed: bool  # whether nothing can have been lost behind it


class Scanned(NamedTuple):
    """A label's text in pieces, and what the scanner says of its kind."""

    pieces: tuple[Piece, ...]
    kind: str  # "]C1"; blank where the scanner does not say
    junk: str  # characters that no label has
    text: str  # without all that is none of the label's


def cut(text: str) -> Scanned:
    """Return a scanned text in pieces, in their order.

    >>> [piece.text for piece in cut("]C110AB12\\x1d17260531").pieces]
    ['10AB12', '17260531']
    """
    words = BLANK.sub("", text)
    found = KIND.search(words)
    kind = found.group() if found else ""
    if TYPED_IDENTIFIER.match(KIND.sub("", words)):
        return _typed(KIND.sub("", words))
    words = SEPARATOR.sub("\x1d", KIND.sub("\x1d", words)).strip("\x1d")
    junk = "".join(NOT_OF_A_LABEL.findall(words.replace("\x1d", "")))
    parts = [part for part in NOT_OF_A_LABEL.split(words) if part]
    # A scanner that sends one separator sends them all.
    knows_separators = len(parts) > 1 and not junk
    last = len(parts) - 1
    pieces = tuple(
        Piece(part, is_closed=knows_separators or place < last)
        for place, part in enumerate(parts)
    )
    return Scanned(pieces, kind, junk, "".join(parts))


def _typed(words: str) -> Scanned:
    """Return what somebody typed as it is printed: (01)12345678901231(10)AB12."""
    starts = [
        found
        for found in TYPED_IDENTIFIER.finditer(words)
        if _is_identifier(found.group(1))
    ]
    ends = [found.start() for found in starts[1:]] + [len(words)]
    parts = [
        found.group(1) + words[found.end() : end]
        for found, end in zip(starts, ends, strict=True)
    ] or [words]
    junk = "".join(NOT_OF_A_LABEL.findall("".join(parts)))
    pieces = tuple(
        Piece(NOT_OF_A_LABEL.sub("", part), is_closed=True) for part in parts
    )
    return Scanned(pieces, "]C1", junk, "".join(piece.text for piece in pieces))


def _is_identifier(digits: str) -> bool:
    try:
        return GS1ApplicationIdentifier.extract(digits).ai == digits
    except ParseError:
        return False
