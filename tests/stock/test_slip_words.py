"""What is asked about an entry that looks like a slip."""

from stock.wording.measure_faults import too_large_words
from stock.wording.slip_words import (
    far_off_words,
    nearly_empty_words,
    rest_elsewhere_words,
)


def test_what_is_on_record_stands_in_each_question():
    assert rest_elsewhere_words("20 lb", ["pantry", "attic"]) == (
        "That is less than the 20 lb on record. Is the rest in pantry and attic, "
        "which is not counted yet?"
    )
    assert nearly_empty_words("1 lb") == (
        "It was due to be nearly empty: 1 lb on record. Look again?"
    )
    assert far_off_words("20 lb", "200 lb") == ("The record says 20 lb. Is it 200 lb?")


def test_more_than_a_bakery_can_hold_is_quoted():
    assert too_large_words("butter", "9,000,000 lb") == (
        "9,000,000 lb of butter is more than a bakery can hold. Check the number and "
        "its unit."
    )
