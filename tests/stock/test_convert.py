from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from stock.management.commands.convert import Command
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def flour():
    return build.item(
        "bread flour", equivalents="1 cup = 137 g", own_units="scoop = 1 lb"
    )


def convert(*arguments):
    out = StringIO()
    call_command("convert", *arguments, stdout=out)
    return out.getvalue().splitlines()


def test_it_prints_the_result_and_the_factor():
    assert convert("1 3/4 cup", "--item", "bread flour", "--to", "g") == [
        "1 3/4 cup = 239.75 g",
        "bread flour: 1 cup = 137 g",
    ]


def test_a_result_that_had_to_be_rounded_says_so():
    assert convert("2 scoop", "--item", "Bread Flour", "--to", "cup") == [
        # 2 x 453.59237 / 137 = 6.62178…
        "2 scoop ≈ 6.6218 cup",
        "bread flour: 1 scoop = 1 lb",
        "bread flour: 1 cup = 137 g",
    ]


def test_a_large_result_is_exact_to_its_last_place():
    # 9,999,999 x 453.59237 = 4,535,923,246.40763
    assert convert("9999999 lb", "--item", "bread flour", "--to", "g") == [
        "9999999 lb \u2248 4535923246.4076 g"
    ]


def test_units_of_one_measure_need_no_factor():
    assert convert("1 kg", "--item", "bread flour", "--to", "g") == ["1 kg = 1000 g"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["1 cup", "--item", "bread flower", "--to", "g"], "Did you mean bread flour?"),
        (["1", "--item", "bread flour", "--to", "g"], "1 has no unit"),
        (["1 each", "--item", "bread flour", "--to", "g"], "1 each = 50 g"),
        (["1 cup", "--item", "bread flour", "--to", "tub"], '"tub" isn\'t a unit of'),
    ],
)
def test_what_it_cannot_do_is_a_sentence(arguments, words):
    with pytest.raises(CommandError) as caught:
        convert(*arguments)

    assert words in str(caught.value)
    assert caught.value.returncode == 2


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["1 cup"], "the following arguments are required: --item, --to"),
        (
            ["1 cup", "--item", "bread flower", "--to", "g"],
            'There is no item "bread flower". Did you mean bread flour?',
        ),
    ],
)
def test_in_a_terminal_it_is_one_line_on_stderr_and_exit_code_2(
    capsys, monkeypatch, arguments, line
):
    # A terminal's command closes its connections when it is done; the test's stays.
    monkeypatch.setattr("django.core.management.base.connections.close_all", list)

    with pytest.raises(SystemExit) as caught:
        Command().run_from_argv(["manage.py", "convert", *arguments])

    assert caught.value.code == 2
    out, err = capsys.readouterr()
    assert (out, err) == ("", f"{line}\n")
