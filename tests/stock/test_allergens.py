import pytest

from stock.items.allergens import allergen_change


@pytest.mark.parametrize(
    ("before", "after", "added", "left_out"),
    [
        ("", "", (), ()),
        ("milk", "milk", (), ()),
        ("Hazelnuts; milk", "milk; almonds", ("almonds",), ("hazelnuts",)),
        ("", "soy; milk ;", ("milk", "soy"), ()),
        ("soy", "", (), ("soy",)),
    ],
)
def test_what_one_label_names_and_the_other_does_not(before, after, added, left_out):
    change = allergen_change(before, after)

    assert (change.added, change.left_out) == (added, left_out)
