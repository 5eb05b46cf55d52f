"""Allergens as they are entered from labels, and what a substitute changes of them.

Pure: no Django. What is entered says what is in something, never what is not.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AllergenChange:
    """What one label names and the other does not; each sorted."""

    added: tuple[str, ...]
    left_out: tuple[str, ...]


def split_allergens(text: str) -> list[str]:
    """Return the allergens of a label as entered, each folded to one spelling.

    >>> split_allergens("Milk; soy ;")
    ['milk', 'soy']
    """
    words = (word.strip().casefold() for word in text.split(";"))
    return [word for word in words if word]


def allergen_change(before: str, after: str) -> AllergenChange:
    """Return what changes from one label to another, both as entered.

    >>> allergen_change("Hazelnuts; milk", "milk; almonds")
    AllergenChange(added=('almonds',), left_out=('hazelnuts',))
    """
    was, comes = set(split_allergens(before)), set(split_allergens(after))
    return AllergenChange(tuple(sorted(comes - was)), tuple(sorted(was - comes)))
