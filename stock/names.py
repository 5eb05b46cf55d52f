"""What to say of a name that nothing has: the nearest known name, if one is near."""

from collections.abc import Iterable

from rapidfuzz import process, utils

# Of 100; below this a known name is no longer what was probably meant.
NEAR_ENOUGH = 75
LONGEST_QUOTED = 120  # letters; no name is longer


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that is most like this one, if any is like it.

    >>> nearest("buter", ["butter", "bread flour"])
    'butter'
    """
    found = process.extractOne(
        name, list(known), processor=utils.default_process, score_cutoff=NEAR_ENOUGH
    )
    return found[0] if found else None


def unknown(noun: str, name: str, known: Iterable[str]) -> str:
    """Return the sentence for a name that nothing has.

    >>> unknown("item", "buter", ["butter"])
    'There is no item "buter". Did you mean butter?'
    """
    if len(name) > LONGEST_QUOTED:
        name = f"{name[:LONGEST_QUOTED]}…"
    near = nearest(name, known)
    question = f" Did you mean {near}?" if near else ""
    return f'There is no {noun} "{name}".{question}'
