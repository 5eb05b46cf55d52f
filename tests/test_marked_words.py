"""Words of what is pure are marked for translation, and no more of Django is known."""

import ast
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
