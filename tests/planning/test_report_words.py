import pytest

from planning.interchange.loading import LoadReport
from planning.interchange.report_words import summary_sentence
from stock.entry.entries import Change, Kept

PAR = Change("flour", "par", "", "50 lb")


@pytest.mark.parametrize(
    ("kept_by_sheet", "sentence"),
    [
        ({}, "Nothing changes: all of it is stored already."),
        (
            {"Items": Kept((), (), 58)},
            "Nothing changes: all of it is stored already.",
        ),
        ({"Items": Kept(("flour",), (), 0)}, "1 item stored."),
        (
            {
                "Items": Kept(("sugar", "salt"), (PAR,), 5),
                "Bake plan": Kept(("A-1",), (), 0),
                "Open orders": Kept(("PO-1", "PO-2"), (), 0),
            },
            "3 items, 1 planned cake and 2 open order lines stored.",
        ),
    ],
)
def test_what_came_of_all_sheets_is_one_sentence(kept_by_sheet, sentence):
    assert summary_sentence(LoadReport(kept_by_sheet)) == sentence
