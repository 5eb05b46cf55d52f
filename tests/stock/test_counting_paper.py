"""A count on paper: printed, filled in, typed in, posted, by commands alone."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from stock.counts.codes import line_code, read_line_code
from stock.counts.lines import LineKey
from stock.models import Count, CountEntry, Item
from tests import build
from tests.on_hand import on_hand_base_by_item
from tests.stock import counts

pytestmark = pytest.mark.django_db

MONDAY = build.MONDAY
LONGEST = "9" * 5_000  # more than Python turns into a number


@pytest.fixture
def kitchen(at_noon):
    return Kitchen()


class Kitchen:
    def __init__(self):
        self.walk_in = build.place("walk-in", walk_order=1)
        self.rack = build.place("dry rack", walk_order=2)
        supplier = build.supplier()
        self.butter = build.item(
            "butter", place=self.walk_in, walk_order=1, own_units="stick = 4 oz"
        )
        build.pack(
            self.butter, supplier, called="case", holds="36 lb", size_base=16329.32532
        )
        self.curd = build.item(
            "curd", kind=Item.Kind.MADE, place=self.walk_in, walk_order=2
        )
        build.stock(
            self.curd, 500, use_by=date(2026, 5, 6), at=build.NOON - timedelta(hours=4)
        )
        self.flour = build.item("=flour", place=self.rack, on_hand_base=9_000)


def run(command, *args):
    out, err = io.StringIO(), io.StringIO()
    call_command(command, *args, stdout=out, stderr=err)
    return out.getvalue()


def filled(tmp_path, quantities, *, text=None):
    """The printed CSV with its quantities filled in, in the order of its rows."""
    rows = list(csv.reader(io.StringIO(text or run("count_sheet", "--csv"))))
    for row, quantity in zip(rows[1:], quantities, strict=True):
        row[-1] = quantity
    path = tmp_path / "count.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    return str(path)


def test_a_whole_count_by_commands(kitchen, tmp_path):
    build.user("ada")
    opened = run("open_count", "--by", "Ada", "--at", "2026-05-04T11:30")
    number = Count.objects.get().pk
    assert opened == (
        f"Count {number} is open as of 2026-05-04 11:30: walk-in, dry rack.\n"
    )

    file = filled(tmp_path, ["1 case + 2 sticks", "0.4 kg", ""])
    entered = run("enter_count", file, "--by", "ada").splitlines()
    assert (
        entered[-1] == f"Count {number}: 2 lines entered, 0 as before, 1 not counted."
    )

    looked = run("post_count", "--look")
    assert "butter: 1 case" in looked
    assert "Not counted, left as they are: =flour (dry rack)." in looked
    posted = run("post_count", "--by", "ada").splitlines()
    assert posted[-1] == f"Count {number} is posted. Items corrected: 2."
    on_hand = on_hand_base_by_item()
    assert on_hand[kitchen.butter.pk] == Decimal("16556.1215")  # 36 lb + 8 oz
    assert on_hand[kitchen.flour.pk] == 9_000
    again = run("post_count", "--count", str(number))
    assert again == f"Count {number} was posted already. Items corrected: 2.\n"


def test_the_printed_sheet_walks_the_shelves_with_a_code_for_each_line(kitchen):
    run("open_count")

    printed = run("count_sheet", "--place", "WALK-IN").splitlines()

    assert printed[0].endswith("walk-in")
    code = line_code(LineKey(kitchen.walk_in.pk, kitchen.butter.pk))
    assert printed[2].split()[:4] == [code, "butter", "case,", "stick,"]
    assert printed[3].split()[1:5] == ["curd,", "use", "by", "2026-05-06"]
    assert not any("flour" in line for line in printed)


def test_the_file_holds_no_formula_and_no_figure_on_record(kitchen):
    run("open_count")

    rows = list(csv.DictReader(io.StringIO(run("count_sheet", "--csv"))))

    assert [row["item"] for row in rows] == ["butter", "curd", "'=flour"]
    assert [row["use_by"] for row in rows] == ["", "2026-05-06", ""]
    assert {row["quantity"] for row in rows} == {""}


def test_the_same_file_again_changes_nothing(kitchen, tmp_path):
    run("open_count")
    file = filled(tmp_path, ["1 case", "none", "3 kg"])
    run("enter_count", file)

    again = run("enter_count", file)

    assert "0 lines entered, 3 as before, 0 not counted." in again
    assert CountEntry.objects.count() == 3


def test_a_corrected_file_replaces_what_was_entered(kitchen, tmp_path):
    run("open_count")
    run("enter_count", filled(tmp_path, ["1 case", "", ""]))

    run("enter_count", filled(tmp_path, ["2 case", "", ""]))

    count = Count.objects.get()
    shelf = (kitchen.walk_in.pk, kitchen.butter.pk)
    assert counts.counted(count) == {shelf: Decimal("32658.6506")}


def test_every_faulty_cell_is_listed_and_nothing_is_entered(kitchen, tmp_path):
    run("open_count")
    text = run("count_sheet", "--csv")
    codes = [row["code"] for row in csv.DictReader(io.StringIO(text))]
    broken = text.replace(codes[2], "9-9Z")
    file = filled(tmp_path, ["2 crates", "1 kg", "3 kg"], text=broken)

    err = io.StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("enter_count", file, stderr=err)

    assert 'Row 2, quantity: "crates" isn\'t a unit of butter.' in err.getvalue()
    assert str(refused.value) == (
        "Row 4, code: \"9-9Z\" isn't a line's code. Write it as printed. "
        "Nothing was entered."
    )
    assert not CountEntry.objects.exists()


def test_a_line_that_is_there_twice_is_refused(kitchen, tmp_path):
    run("open_count")
    text = run("count_sheet", "--csv")
    lines = text.splitlines()
    file = filled(tmp_path, ["1 lb"] * 4, text="\n".join([*lines, lines[1]]))

    with pytest.raises(CommandError, match='is in row 2 already, with "1 lb"; here'):
        run("enter_count", file)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("", "count.csv is empty"),
        ("code,how much\n", "has a column how much"),
        ("code,item\n", "has no column quantity"),
        ('code,quantity\n"1', "is broken"),
        ("count,code,quantity\nx,1-1A,1 lb\n", '"x" isn\'t a count. Write its number'),
        (f"count,code,quantity\n{LONGEST},1-1A,1 lb\n", 'count: "9{19}…" isn\'t'),
        (f"code,quantity\n{LONGEST}-1A,1 lb\n", "isn't a line's code"),
        ("count,code,quantity\n1,1-1A,1 lb\n2,1-1A,1 lb\n", "is of another count"),
        ("count,code,quantity\n404,1-1A,1 lb\n", "There is no count 404"),
    ],
)
def test_a_file_that_is_no_count_sheet_is_refused(kitchen, tmp_path, content, sentence):
    run("open_count")
    file = tmp_path / "count.csv"
    file.write_text(content, encoding="utf-8")

    with pytest.raises(CommandError, match=sentence):
        run("enter_count", str(file))


def test_what_is_missing_is_said_in_one_line(kitchen, tmp_path):
    with pytest.raises(CommandError, match="No count is open"):
        run("count_sheet")
    run("open_count", "--place", "walk-in")
    with pytest.raises(CommandError, match="Walk-in: being counted already"):
        run("open_count", "--place", "walk-in")
    with pytest.raises(CommandError, match="Did you mean walk-in"):
        run("open_count", "--place", "walkin")
    with pytest.raises(CommandError, match='There is no person "bo"'):
        run("open_count", "--by", "bo")
    with pytest.raises(CommandError, match='"noon" isn\'t a moment'):
        run("open_count", "--place", "dry rack", "--at", "noon")
    run("open_count", "--place", "dry rack")
    with pytest.raises(CommandError, match="Say which one: --count"):
        run("post_count")
    with pytest.raises(CommandError, match=r"There is no file gone\.csv"):
        run("enter_count", str(tmp_path / "gone.csv"))


def test_a_file_for_a_posted_count_is_refused(kitchen, tmp_path):
    run("open_count")
    file = filled(tmp_path, ["1 case", "", ""])
    run("enter_count", file)
    run("post_count")

    with pytest.raises(CommandError, match=r"is posted\. Open a new count\."):
        run("enter_count", file)


def test_a_wrong_digit_or_two_swapped_ones_name_no_line():
    code = line_code(LineKey(3, 4127))
    number, letter = code[2:-1], code[-1]
    wrong = [
        number[:at] + digit + number[at + 1 :]
        for at in range(4)
        for digit in "0123456789"
        if digit != number[at]
    ]
    swapped = [
        number[:at] + number[at + 1] + number[at] + number[at + 2 :] for at in range(3)
    ]

    for mistyped in [*wrong, *swapped]:
        assert read_line_code(f"3-{mistyped}{letter}", near=MONDAY) is None


@pytest.mark.parametrize(
    ("use_by", "near"),
    [
        (date(2026, 5, 12), MONDAY),
        (date(2027, 1, 2), date(2026, 12, 28)),
        (date(2026, 12, 28), date(2027, 1, 2)),
        (date(2028, 2, 29), date(2028, 2, 20)),
        (None, MONDAY),
    ],
)
def test_a_code_reads_back_as_its_line(use_by, near):
    line = LineKey(12, 345, use_by)

    assert read_line_code(f" {line_code(line).lower()} ", near=near) == line


def test_two_figures_of_one_line_are_both_shown_with_what_to_write(kitchen, tmp_path):
    run("open_count")
    text = run("count_sheet", "--csv")
    lines = text.splitlines()
    twice = "\n".join([*lines, lines[1]])
    file = filled(tmp_path, ["1 case", "", "", "2 sticks"], text=twice)

    with pytest.raises(CommandError) as refused:
        run("enter_count", file)

    assert (
        'already, with "1 case"; here it is "2 sticks". Keep one of the two; if both '
        'stand there, write "1 case + 2 sticks" once.'
    ) in str(refused.value)
    blank = filled(tmp_path, ["1 case", "", "", ""], text=twice)
    assert "1 lines entered" in run("enter_count", blank)


def test_a_bare_number_means_the_unit_that_was_printed_beside_it(kitchen, tmp_path):
    run("open_count")
    text = run("count_sheet", "--csv")
    kitchen.butter.counted_in = "case"  # somebody chose another since
    kitchen.butter.save()

    run("enter_count", filled(tmp_path, ["3", "", ""], text=text))

    assert next(csv.DictReader(io.StringIO(text)))["counted_in"] == "stick"
    entry = CountEntry.objects.get()
    assert (entry.typed, entry.text) == ("3", "3 stick")


def test_a_figure_that_is_replaced_by_a_file_is_named(kitchen, tmp_path):
    run("open_count")
    run("enter_count", filled(tmp_path, ["1 case", "", ""]))

    again = run("enter_count", filled(tmp_path, ["2 case", "", ""]))

    assert '"2 case" replaces "1 case".' in again


@pytest.mark.parametrize(("mark", "called"), [(";", "semicolons"), ("\t", "tabs")])
def test_a_file_with_other_marks_than_commas_is_told_how_to_be_saved(
    kitchen, tmp_path, mark, called
):
    run("open_count")
    path = tmp_path / "count.csv"
    path.write_text(run("count_sheet", "--csv").replace(",", mark))

    with pytest.raises(CommandError) as refused:
        run("enter_count", str(path))

    assert str(refused.value) == (
        f"count.csv has {called} between its cells. Save it again as CSV with commas, "
        "or fill in what count_sheet --csv prints."
    )
