import pytest

from planning.interchange.loading import LoadReport
from planning.interchange.report_words import baked_warning, summary_sentence
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


def status_of(reference, after):
    return Change(reference, "status", "confirmed", after)


@pytest.mark.parametrize(
    ("kept", "named"),
    [
        (Kept(changed=(status_of("A-1", "cancelled"),)), ""),
        (Kept(added=("A-1",)), ""),
        (Kept(changed=(status_of("A-1", "baked"),)), "A-1"),
        (
            Kept(changed=tuple(status_of(f"A-{n}", "baked") for n in range(1, 8))),
            "A-1; A-2; A-3; A-4; A-5 and 2 more",
        ),
    ],
)
def test_cakes_that_a_file_bakes_are_named_as_taking_nothing(kept, named):
    warning = baked_warning(LoadReport({"Bake plan": kept}))

    said = (
        f"Baked by this file: {named}. It takes nothing from the shelves: its Stock "
        "must say what is left, or set it by hand."
    )
    assert warning == (said if named else "")
