"""No two classes of the program have one name: a reader who meets it knows which."""

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[1]
# Names that a framework gives, and looks for.
FRAMEWORKS = {
    "Command",  # of every module in management/commands
}


def class_names(path: Path):
    """The classes that a module shows to others.

    One inside another is named with it (`Order.State`), and one that begins with `_`
    is its own module's.
    """
    tree = ast.parse(path.read_text())
    named = (node.name for node in tree.body if isinstance(node, ast.ClassDef))
    return [name for name in named if not name.startswith("_")]


def test_one_name_is_one_class():
    places = defaultdict(list)
    for app in ("stock", "planning"):
        for path in sorted((ROOT / app).rglob("*.py")):
            if path.parent.name != "migrations":
                for name in class_names(path):
                    places[name].append(path.relative_to(ROOT).as_posix())

    clashing = {name: found for name, found in places.items() if len(found) > 1}
    assert len(places) > 500
    assert set(clashing) == FRAMEWORKS, clashing
