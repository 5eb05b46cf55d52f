"""What no order can help, in a sentence with the ways out.

An item's name may be one or many (flour, egg whites), so no verb stands behind it.
"""

from planning.engine.words import capitalized

BY_HAND = "Buy it by hand, or change the bake plan."


def unsold_words(name: str, what: str) -> str:
    """Return that an item is short and that nobody sells it.

    >>> unsold_words("egg whites", "out on Tue May 5")[:52]
    'Egg whites: out on Tue May 5, and no supplier sells '
    """
    return (
        f"{capitalized(name)}: {what}, and no supplier sells it. Buy it by hand, or "
        "give it a pack on its page."
    )


def unhelped_words(name: str, what: str) -> str:
    """Return that an item is short and that no delivery helps."""
    return (
        f"{capitalized(name)}: {what}, and no delivery that can still be ordered "
        f"helps. {BY_HAND}"
    )


def too_early_words(name: str, what: str) -> str:
    """Return that an item is short before any delivery can bring it."""
    return (
        f"{capitalized(name)}: {what}, too soon for any delivery that can still be "
        f"ordered. {BY_HAND}"
    )
