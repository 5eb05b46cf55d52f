"""Lengths of pans and layers, as people write them."""

import pytest

from stock.errors import LengthError
from stock.measures.lengths import parse_length_cm


# An inch is 2.54 cm exactly: 16 CFR 500.19.
@pytest.mark.parametrize(
    ("text", "length_cm"),
    [
        ("1.5 in", 3.81),
        ("4 cm", 4.0),
        ("1 1/2 inches", 3.81),
        ("1½ in", 3.81),
        ("½ in", 1.27),
        ('2"', 5.08),
        ("2''", 5.08),
        ("2\N{DOUBLE PRIME}", 5.08),
        ("2\N{RIGHT DOUBLE QUOTATION MARK}", 5.08),
        ("1\N{VULGAR FRACTION ONE HALF}\N{RIGHT DOUBLE QUOTATION MARK}", 3.81),
        ("1-1/2 in", 3.81),
        ("1 1\N{FRACTION SLASH}2 in", 3.81),
        ("\N{FULLWIDTH DIGIT ONE}.\N{FULLWIDTH DIGIT FIVE} in", 3.81),
        (
            "\N{FULLWIDTH DIGIT FOUR}\N{FULLWIDTH LATIN SMALL LETTER C}"
            "\N{FULLWIDTH LATIN SMALL LETTER M}",
            4.0,
        ),
    ],
)
def test_a_length_is_read_in_centimeters(text, length_cm):
    assert parse_length_cm(text) == length_cm


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1.5",
        "13\N{FRACTION SLASH}4 in",
        "in",
        "0 in",
        "0/4 in",
        "1/0 in",
        "1,5 in",
        "-1 in",
        "1 ft",
    ],
)
def test_a_length_that_cannot_be_read_is_refused(text):
    with pytest.raises(LengthError, match=r"1\.5 in"):
        parse_length_cm(text)
