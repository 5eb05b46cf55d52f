"""Every doubt has its sentence, which names what was read."""

from datetime import date

import pytest

from stock.labels.reading import Doubtful, read_label
from stock.labels.wording import _SENTENCES, doubts_words, read_words

TODAY = date(2026, 11, 30)


def test_every_doubt_has_its_sentence():
    assert set(_SENTENCES) == set(Doubtful)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "011234567890123110AB1217261231",
            "Where the lot ends is not sure: AB1217261231. Type lot and use by.",
        ),
        (
            "]C117270231",
            "The label's use by date, 270231, doesn't exist. Type it from the label.",
        ),
        (
            "011234567890123117620101",
            "The label's use by date reads Sun Jan 1, 2062. Type it if it is right.",
        ),
        ("0112345678901231", ""),
    ],
)
def test_what_is_not_sure_is_said_with_what_to_do(text, words):
    assert doubts_words(read_label(text, today=TODAY)) == words


def test_what_was_read_is_said_with_its_year():
    label = read_label("(01)96291041500216(3202)001230(17)261231(10)L7", today=TODAY)

    assert read_words(label) == "lot L7, use by Thu Dec 31, 2026, 12.3 lb"
