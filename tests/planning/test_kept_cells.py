"""What was read of a file is the same after it has been kept."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.interchange.errors import CellFault
from planning.interchange.grids import Grid, KitchenCells, kitchen_cells
from planning.interchange.kept_cells import dump_cells, load_cells
from planning.interchange.kitchens import SheetRows
from stock.entry.cells import Unreadable


@given(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(allow_nan=False),
        st.text(),
        st.dates(),
        st.datetimes(),
        st.times(),
        st.timedeltas(),
        st.decimals(allow_nan=False),
        st.builds(Unreadable, st.text()),
    )
)
def test_a_cell_is_of_the_same_kind_and_value(cell):
    cells = KitchenCells(sheets={"Places": SheetRows([{"place": cell}], [2])})

    kept = load_cells(dump_cells(cells))

    assert kept == cells
    assert type(kept.sheets["Places"].entries[0]["place"]) is type(cell)


def test_letters_faults_and_rows_are_kept():
    grid = Grid(
        "places",
        [
            (1, ["walk_order", "place", "colour"]),
            (7, [1, "rack"]),
            (9, [None, "cellar"]),
        ],
        ["B2:B3"],
    )
    cells = kitchen_cells([grid, Grid("places", []), Grid("Letters", [])])
    assert [fault.cell for fault in cells.faults] == [
        "places!B2",
        "places!C1",
        "places!A1",
        "Letters!A1",
    ]

    kept = load_cells(dump_cells(cells))

    assert kept == cells
    assert kept.faults[0] == CellFault(
        "places!B2", "B2:B3 are merged into one. Unmerge them, and fill in every cell."
    )
    assert kept.address("Places", "place", 7) == "Places!B7"


def test_what_no_spreadsheet_hands_over_is_no_cell():
    cells = KitchenCells(sheets={"Places": SheetRows([{"place": object()}], [2])})

    with pytest.raises(TypeError, match="no cell holds"):
        dump_cells(cells)


def test_every_kind_of_time_is_kept():
    row = {
        "place": date(2026, 5, 4),
        "walk_order": datetime(2026, 5, 4, 12, 30),  # noqa: DTZ001 (as spreadsheets)
        "a": time(6, 0),
        "b": timedelta(days=1, hours=2),
        "c": Decimal("0.10"),
    }
    cells = KitchenCells(sheets={"Places": SheetRows([row], [2])})

    assert load_cells(dump_cells(cells)).sheets["Places"].entries == [row]
