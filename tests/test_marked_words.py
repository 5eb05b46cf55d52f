"""Words of what is pure are marked for translation, and no more of Django is known."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# Pure, but for their words: pyproject.toml lets them import django.
WORDED = (
    *("stock/calendar", "stock/conversion/dependents.py", "stock/entry"),
    *("stock/errors.py", "stock/wording", "planning/errors.py", "planning/exports"),
    *("planning/plan/telling.py", "planning/wording/batch_words.py"),
    "planning/wording/size_words.py",
)
TRANSLATION = "django.utils.translation"


def modules():
    for name in WORDED:
        path = ROOT / name
        yield from [path] if path.is_file() else path.rglob("*.py")


def imported(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            yield node.module or ""
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


@pytest.mark.parametrize(
    "path", sorted(modules()), ids=lambda path: path.relative_to(ROOT).as_posix()
)
def test_what_is_pure_knows_of_django_its_translation_alone(path):
    of_django = {name for name in imported(path) if name.split(".")[0] == "django"}

    assert of_django <= {TRANSLATION}


# What is put into a sentence as a piece: " by {who}", "approve and ".
PIECE = re.compile(r" [a-z]|.*[A-Za-z] $", re.DOTALL)
MARKS = {"_", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}


def marked(source):
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in MARKS:
            for words in node.args[:2]:
                if isinstance(words, ast.Constant) and isinstance(words.value, str):
                    yield words.value


def pieces(source):
    return [words for words in marked(source) if PIECE.match(words)]


def test_a_piece_of_a_sentence_is_known_from_a_whole_one():
    source = '_(" by {who}"), _("approve and "), _(" Add it first."), _("by {who}")'

    assert pieces(source) == [" by {who}", "approve and "]


def test_no_piece_of_a_sentence_is_marked():
    found = {
        path.relative_to(ROOT).as_posix(): pieces(path.read_text(encoding="utf-8"))
        for app in ("planning", "stock")
        for path in (ROOT / app).rglob("*.py")
    }

    assert {path: words for path, words in found.items() if words} == {}


def strings_made_at_import(source):
    """The lazy words that a module turns into plain ones before anybody reads them."""
    body = [each for each in ast.parse(source).body if isinstance(each, ast.Assign)]
    calls = [node for each in body for node in ast.walk(each)]
    lazy = {
        target.id
        for each in body
        if isinstance(each.value, ast.Call)
        and getattr(each.value.func, "id", "") == "gettext_lazy"
        for target in each.targets
        if isinstance(target, ast.Name)
    }
    return [
        node.id
        for call in calls
        if isinstance(call, ast.JoinedStr)
        or (isinstance(call, ast.Call) and getattr(call.func, "id", "") == "str")
        for node in ast.walk(call)
        if isinstance(node, ast.Name) and node.id in lazy
    ]


def test_no_lazy_words_are_turned_into_one_language_at_import():
    found = {
        path.relative_to(ROOT).as_posix(): made
        for app in ("planning", "stock")
        for path in (ROOT / app).rglob("*.py")
        if (made := strings_made_at_import(path.read_text(encoding="utf-8")))
    }

    assert found == {}
