"""What other apps keep of items and packs: stock never imports them.

An app registers here, when it is ready, how its quantities are worked out again when an
item's units change, and which packs are spoken for, so that they hold what they held.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from stock.measures.conversion import Converter


@dataclass(frozen=True, slots=True)
class Broken:
    """A stored quantity that an item's units cannot express any more."""

    item_id: int
    noun: str  # what uses it: recipe, pack
    where: str  # which one
    text: str  # the quantity as typed
    reason: str  # a sentence


# Given the new converters by item id: stores what the quantities come to now, and
# returns those that cannot be worked out. A fixed number of queries.
Recompile = Callable[[Mapping[int, Converter]], Iterable[Broken]]

# Given packs by their ids: returns of those that may not come to hold something else
# why not, and what to do. A fixed number of queries.
HeldPacks = Callable[[Collection[int]], Mapping[int, str]]

_registered: list[Recompile] = []
_holding: list[HeldPacks] = []


def register(recompile: Recompile) -> None:
    """Have a function called whenever units of items come to something else."""
    if recompile not in _registered:
        _registered.append(recompile)


def recompile_all(converters: Mapping[int, Converter]) -> list[Broken]:
    """Work out everything again that is registered; return what cannot be."""
    return [broken for recompile in _registered for broken in recompile(converters)]


def register_holding(held: HeldPacks) -> None:
    """Have a function asked whenever packs are to hold something else."""
    if held not in _holding:
        _holding.append(held)


def held_packs(pack_ids: Collection[int]) -> dict[int, str]:
    """Return why some packs may not come to hold something else, by their ids."""
    found: dict[int, str] = {}
    for held in _holding:
        found |= held(pack_ids)
    return found


def sentence(item_name: str, broken: list[Broken]) -> str:
    """Return what cannot be worked out any more, and where, in one sentence.

    >>> broken = [Broken(1, "recipe", "brownie", "2 stick", "There is no stick.")]
    >>> sentence("butter", broken)
    '1 recipe measures butter in a way that would be lost: brownie (2 stick). \
There is no stick.'
    """
    nouns: dict[str, int] = {}
    for each in broken:
        nouns[each.noun] = nouns.get(each.noun, 0) + 1
    counts = " and ".join(
        f"{count} {noun}{'s' if count > 1 else ''}" for noun, count in nouns.items()
    )
    verb = ngettext("measures", "measure", len(broken))
    places = ", ".join(f"{each.where} ({each.text})" for each in broken[:5])
    if len(broken) > 5:
        places = _("{places} and {count} more").format(
            places=places, count=len(broken) - 5
        )
    return _(
        "{counts} {verb} {item_name} in a way that would be lost: {places}. {reason}"
    ).format(
        counts=counts,
        verb=verb,
        item_name=item_name,
        places=places,
        reason=broken[0].reason,
    )
