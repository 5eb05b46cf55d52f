"""What is pure says nothing: sentences are made where they are shown.

A sentence is a string of three words or more. Docstrings are none, nor is what tells a
programmer of a mistake.
"""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# Packages and modules that hold no sentence.
DONE = ("planning/engine", "stock/measure_faults.py", "stock/measures")
PROGRAMMING_ERRORS = {"AssertionError", "AttributeError", "TypeError", "ValueError"}
WORDS_OF_A_SENTENCE = 3
# No figure, no code and no placeholder is a word.
WORD = re.compile(r"(?<!\S)[(\"']?[A-Za-z]+(?:['-][A-Za-z]+)*[)\"']?[.,;:!?]*(?!\S)")


def modules():
    for name in DONE:
        path = ROOT / name
        yield from [path] if path.is_file() else path.rglob("*.py")


def docstrings(tree):
    for node in ast.walk(tree):
        match node:
            case (
                ast.Module(body=[ast.Expr(value), *_])
                | ast.ClassDef(body=[ast.Expr(value), *_])
                | ast.FunctionDef(body=[ast.Expr(value), *_])
            ):
                yield value


def programmers_messages(tree):
    for node in ast.walk(tree):
        match node:
            case ast.Raise(exc=ast.Call(func=ast.Name(id=name)) as call):
                if name in PROGRAMMING_ERRORS:
                    yield from ast.walk(call)
            case ast.Assert(msg=ast.AST() as message):
                yield from ast.walk(message)


def sentences(source):
    """The sentences that a module holds, with their lines."""
    tree = ast.parse(source)
    allowed = {id(node) for node in (*docstrings(tree), *programmers_messages(tree))}
    return [
        (node.lineno, text)
        for node in ast.walk(tree)
        if id(node) not in allowed
        and len(WORD.findall(text := text_of(node))) >= WORDS_OF_A_SENTENCE
    ]


def text_of(node):
    """A string, or all that an f-string says beside its figures; else nothing."""
    match node:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=parts):
            return "".join(text_of(part) for part in parts)
        case ast.FormattedValue():
            return "_"
    return ""


@pytest.mark.parametrize(
    "path", sorted(modules()), ids=lambda path: path.relative_to(ROOT).as_posix()
)
def test_what_is_pure_holds_no_sentence(path):
    assert sentences(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('"""A module of words."""\n', []),
        ('def f():\n    """Return a great deal."""\n', []),
        ('class C:\n    """A class of words."""\n', []),
        ('raise ValueError(f"days must be 1 or more, not {days}")\n', []),
        ('assert found, "there has to be one"\n', []),
        ('key = "two words"\n', []),
        ('say = "three words here"\n', [(1, "three words here")]),
        ('say = f"{name} comes on {day}"\n', []),
        ('say = f"{name} comes on {day}, late"\n', [(1, "_ comes on _, late")]),
        ('pattern = "([0-9]+) (?:[a-z]+) (?P<unit>[a-z]+)"\n', []),
        ('raise SizeError(text, "give the same unit")\n', [(1, "give the same unit")]),
    ],
)
def test_a_sentence_is_known_by_its_words(source, found):
    assert sentences(source) == found
