"""Every word of a command's help and of what it prints is marked for translation."""

from datetime import date
from io import StringIO

import pytest
from django.core.management import (
    BaseCommand,
    CommandError,
    call_command,
    get_commands,
    load_command_class,
)

from planning.demo import build_sheets
from planning.interchange.loading import load_kitchen
from stock.site import pseudo_locale
from tests.build import NOON
from tests.unmarked import WORD, data_pattern, unmarked

OF_DJANGO = {
    action.dest for action in BaseCommand().create_parser("manage.py", "")._actions
}
OURS = sorted(
    name
    for name, app in get_commands().items()
    if app in ("stock", "planning") and name != "migrate"
)
SAYING = [
    ("plan", "--effort", "none", "--at", "2026-05-04T12:00"),
    ("can_take", "--cake", "Honey almond wedding cake", "--on", "2026-05-16"),
    ("can_take", "--cake", "nothing like it", "--on", "2026-05-16"),
    ("convert", "1 lb", "--item", "eggs", "--to", "dozen"),
    ("open_count", "--place", "freezer"),
    ("verify_ledger",),
    ("waste", "eggs", "2 each", "--reason", "dropped"),
    ("receive", "2026-999", "--all"),
]


@pytest.fixture(autouse=True)
def _spoken():
    with pseudo_locale.spoken():
        yield


@pytest.fixture
def kitchen(db, at_noon):
    """The demo's kitchen, told of in the pseudo-locale."""
    load_kitchen(build_sheets(date(2026, 5, 4)), at=NOON)


@pytest.mark.parametrize("name", OURS)
def test_the_help_of_a_command_is_marked(name):
    command = load_command_class(get_commands()[name], name)

    parser = command.create_parser("manage.py", name)

    helps = [
        action.help or "" for action in parser._actions if action.dest not in OF_DJANGO
    ]
    said = [parser.description, *helps]
    assert [
        words for words in said if WORD.search(words) and not words.startswith("⟦")
    ] == []


def test_what_a_command_prints_is_marked(kitchen):
    data, said = data_pattern(), StringIO()

    for name, *arguments in SAYING:
        try:
            call_command(name, *arguments, stdout=said, stderr=said)
        except CommandError as error:
            said.write(f"{error}\n")

    assert unmarked(said.getvalue(), data) == set()
