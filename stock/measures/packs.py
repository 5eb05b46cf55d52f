"""The words for an item's packs: what is meant by "2 cases" when counting."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import AmbiguousPackWordError
from stock.measures.conversion import Converter
from stock.measures.definitions import check_word
from stock.measures.reading.terms import TypedQuantity
from stock.measures.units import word_key


@dataclass(frozen=True, slots=True)
class PackWord:
    """What a pack is called when counting, and what one of it holds, as typed."""

    called: str
    holds: TypedQuantity | str
    preferred: bool = False
    retired: bool = False  # bought no more; what is left is still counted in it


def words_of_packs(
    packs: Iterable[PackWord], converter: Converter
) -> dict[str, TypedQuantity]:
    """Return what each pack's word holds, or raise where a word is ambiguous.

    Packs of one word may hold different amounts only if one of them is preferred; the
    word then means that one. Retired packs lend their word only where no other pack
    has it. A pack without a word is left out. The converter is the
    item's own, without its packs: a pack is not given in other packs.
    """
    packs_by_key: dict[str, list[PackWord]] = {}
    for pack in packs:
        if pack.called.strip():
            packs_by_key.setdefault(word_key(pack.called), []).append(pack)
    words: dict[str, TypedQuantity] = {}
    for same_word in packs_by_key.values():
        words[check_word(same_word[0].called)] = _held(same_word, converter)
    return words


def _held(same_word: list[PackWord], converter: Converter) -> TypedQuantity:
    bought = [pack for pack in same_word if not pack.retired] or same_word
    meant = [pack for pack in bought if pack.preferred] or bought
    holds_by_base: dict[Fraction, TypedQuantity] = {}
    for pack in meant:
        holds = pack.holds
        read = converter.read(holds) if isinstance(holds, str) else holds
        holds_by_base.setdefault(converter.to_base(read), read)
    if len(holds_by_base) > 1:
        said = tuple(str(holds) for holds in holds_by_base.values())
        raise AmbiguousPackWordError(converter.item_name, meant[0].called, said)
    return next(iter(holds_by_base.values()))
