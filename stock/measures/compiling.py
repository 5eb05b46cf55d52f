"""From what an item says about its measures to its converter, once per item.

* Within mass, within volume and within count the factors are exact.
* A unit of another measure that has its own equivalent uses it (`1 tbsp = 20 g`).
* Any other unit goes through the item's largest equivalent. Between mass and volume,
  and between volume and count, that is the one whose volume unit is the largest (a
  quart before a cup, a cup before a tbsp), whatever its number; between mass and
  count one in `each` comes before one in `dozen`.
* Two equivalents for one unit, as `1 cup = 337 g; 1 tbsp = 20 g` are for the grams of
  an item kept by volume, are settled the same way: the largest volume unit wins.
* Nothing is chained: a unit reaches the item's measure by one equivalent or not at all.
* A word of the item's own may take the place of a unit of another measure, in all its
  forms: `pint = 312 g` of berries, which are sold by a pint of their own. It defines
  that unit and no other, and goes before what an equivalent would say of it.
* Words of the item's own are given in units, never in other words; packs may also be
  given in words of the item's own. A word means one thing: a second meaning is an
  error, a second definition that comes to the same is not.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from itertools import chain
from types import MappingProxyType

from stock.errors import EquivalentError, OwnWordError, WordClashError
from stock.measure_faults import FaultKind, Meaning, MeasureFault, OneMeasureFault
from stock.measures.conversion import Converter
from stock.measures.definitions import (
    Equivalent,
    check_word,
    is_nothing,
    parse_equivalents,
    parse_own_words,
)
from stock.measures.item_units import OwnWord
from stock.measures.nouns import noun_forms, pack_word
from stock.measures.packs import PackWord, words_of_packs
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.units import (
    UNIT_BY_BEGINNING,
    UNIT_BY_WORD,
    UNITS,
    Measure,
    Unit,
    units_of,
    word_forms,
    word_key,
)


@dataclass(frozen=True, slots=True)
class ItemMeasures:
    """What an item says about its measures."""

    name: str
    measure: Measure
    equivalents: tuple[Equivalent, ...] = ()
    own_words: Mapping[str, TypedQuantity] = field(default_factory=dict)
    packs: tuple[PackWord, ...] = ()


@dataclass(frozen=True, slots=True)
class _Rated:
    """An equivalent as a factor, and how it ranks among an item's own."""

    unit: Unit
    per_standard: Fraction  # what 1 g, mL or each of the other measure comes to
    rank: Fraction
    source: Equivalent


class _BaseByUnit(Mapping[str, Fraction]):
    """What 1 of each unit comes to, worked out when it is asked for.

    A kitchen's file holds thousands of items, most of which are typed in a few units:
    a table of them all would cost each item far more than reading it does.
    """

    __slots__ = ("_exact", "_known", "_rated")

    def __init__(
        self, exact: Mapping[str, Fraction], rated: Mapping[str, _Rated]
    ) -> None:
        self._exact, self._rated = exact, rated
        self._known: dict[str, Fraction] = {}

    def __getitem__(self, word: str) -> Fraction:
        base = self._exact.get(word) or self._known.get(word)
        if base is None:
            base = UNITS[word].per_unit_base * self._rated[word].per_standard
            self._known[word] = base
        return base

    def __contains__(self, word: object) -> bool:
        return word in self._exact or word in self._rated

    def __iter__(self) -> Iterator[str]:
        return chain(self._exact, self._rated)

    def __len__(self) -> int:
        return len(self._exact) + len(self._rated)


def read_item_measures(
    name: str,
    measure: Measure | str,
    *,
    equivalents: str = "",
    own_units: str = "",
    packs: Iterable[PackWord] = (),
) -> ItemMeasures:
    """Return an item's measures from the texts that people type."""
    return ItemMeasures(
        name=name,
        measure=Measure(measure),
        equivalents=parse_equivalents(equivalents),
        own_words=parse_own_words(own_units),
        packs=tuple(packs),
    )


def compile_converter(item: ItemMeasures) -> Converter:
    """Return the item's converter, or raise what is wrong with its measures.

    >>> flour = read_item_measures("flour", "mass", equivalents="1 cup = 125 g")
    >>> compile_converter(flour).to_base("1/2 cup")
    Fraction(125, 2)
    """
    _refuse_words_of_words(item)
    direct = {
        word: holds
        for word, holds in item.own_words.items()
        if _measures(holds) == {item.measure}
    }
    exact = _with_words(_exact(item), direct)
    converting = _with_equivalents(exact, item.equivalents)
    indirect = {
        word: holds for word, holds in item.own_words.items() if word not in direct
    }
    own = _with_words(converting, indirect)
    packed = _with_words(own, words_of_packs(item.packs, own), are_packs=True)
    return _with_spare_packs(_with_replaced_units(packed), item.packs)


def _exact(item: ItemMeasures) -> Converter:
    return Converter(item.name, item.measure, _exact_bases(item.measure))


@cache
def _exact_bases(measure: Measure) -> Mapping[str, Fraction]:
    return MappingProxyType(
        {unit.word: unit.per_unit_base for unit in units_of(measure)}
    )


def _measures(quantity: TypedQuantity) -> set[Measure | None]:
    """Return the measures of the quantity's units; None stands for other words."""
    units = (UNIT_BY_WORD.get(word_key(term.unit)) for term in quantity.terms)
    return {None if unit is None else unit.measure for unit in units}


def _refuse_words_of_words(item: ItemMeasures) -> None:
    own_forms = {form for word in item.own_words for form in word_forms(word)}
    for word, holds in item.own_words.items():
        for term in holds.terms:
            if word_key(term.unit) in own_forms:
                fault = MeasureFault(FaultKind.HOLDS_OWN_WORD, term.unit)
                raise OwnWordError(f"{word} = {holds}", fault)


def _with_words(
    converter: Converter, words: Mapping[str, TypedQuantity], *, are_packs: bool = False
) -> Converter:
    own_by_form = dict(converter.own_by_form)
    own_words = list(converter.own_words)
    for typed, holds in words.items():
        word = _unit_replaced(check_word(typed))
        if is_nothing(holds):
            raise OwnWordError(word, MeasureFault(FaultKind.HOLDS_NOTHING, word))
        own = OwnWord(word, holds, converter.to_base(holds), are_packs)
        forms = _forms_of(word)
        if word_key(word) in noun_forms(converter.item_name):
            forms |= word_forms(pack_word(word))
        for form in forms:
            _refuse_clash(converter, own, form, own_by_form)
        own_words = [
            *(known for known in own_words if not _is_same_word(known.word, word)),
            own,
        ]
        own_by_form |= dict.fromkeys(forms, own)
    own_words.sort(key=lambda own: -own.holds_base)
    return replace(converter, own_words=tuple(own_words), own_by_form=own_by_form)


def _with_spare_packs(converter: Converter, packs: Iterable[PackWord]) -> Converter:
    """Mark the packs that people do not count in, as another one is preferred."""
    preferred = {word_key(pack.called) for pack in packs if pack.preferred}
    if not preferred:
        return converter
    own_words = tuple(
        replace(own, is_spare=own.is_pack and word_key(own.word) not in preferred)
        for own in converter.own_words
    )
    return replace(converter, own_words=own_words)


def _unit_replaced(word: str) -> str:
    """Return the unit's own word for what takes its place: a pint for pts."""
    unit = UNIT_BY_BEGINNING.get(word_key(word))
    return word if unit is None else unit.word


def _forms_of(word: str) -> frozenset[str]:
    replaced = UNITS.get(word)
    if replaced is None:
        return word_forms(word)
    of_unit = (form for form, unit in UNIT_BY_WORD.items() if unit is replaced)
    return word_forms(word) | frozenset(of_unit)


def _with_replaced_units(converter: Converter) -> Converter:
    """Let own words that are units go before them, and note what these came to."""
    replaced = {
        own.word: converter.base_by_unit.get(own.word)
        for own in converter.own_words
        if own.word in UNITS
    }
    if not replaced:
        return converter
    own_bases = {
        word: converter.own_by_form[word_key(word)].holds_base for word in replaced
    }
    return replace(
        converter,
        base_by_unit={**converter.base_by_unit, **own_bases},
        replaced_base_by_unit=replaced,
    )


def _is_same_word(one: str, other: str) -> bool:
    return not word_forms(one).isdisjoint(word_forms(other))


def _refuse_clash(
    converter: Converter, own: OwnWord, form: str, own_by_form: Mapping[str, OwnWord]
) -> None:
    """Refuse a second meaning of a word.

    A unit of another measure may be given one: a pint of berries is what it weighs.
    So may what is short for a unit, such as piece.
    """
    item_name = converter.item_name
    unit = UNIT_BY_BEGINNING.get(form)
    if unit is not None and unit.measure is converter.measure:
        raise WordClashError(item_name, own.word, Meaning(unit.word))
    other = own_by_form.get(form)
    if other is not None and other.holds_base != own.holds_base:
        meaning = Meaning(other.word, str(other.holds))
        raise WordClashError(item_name, own.word, meaning)


def _with_equivalents(
    converter: Converter, equivalents: Iterable[Equivalent]
) -> Converter:
    rated_by_measure: dict[Measure, list[_Rated]] = {}
    for equivalent in equivalents:
        rated = _rated(equivalent, converter)
        rated_by_measure.setdefault(rated.unit.measure, []).append(rated)
    if not rated_by_measure:
        return converter
    rated_by_unit: dict[str, _Rated] = {}
    for measure, all_rated in rated_by_measure.items():
        _refuse_doubles(all_rated)
        rated_by_unit |= {
            unit.word: _chosen(unit, all_rated) for unit in units_of(measure)
        }
    return replace(
        converter,
        base_by_unit=_BaseByUnit(converter.base_by_unit, rated_by_unit),
        through_by_unit={word: each.source for word, each in rated_by_unit.items()},
    )


def _chosen(unit: Unit, all_rated: list[_Rated]) -> _Rated:
    """Return the unit's own equivalent, else the largest; see the module's rules."""
    if len(all_rated) == 1:
        return all_rated[0]
    own = [rated for rated in all_rated if rated.unit == unit]
    return max(own or all_rated, key=lambda rated: rated.rank)


def _refuse_doubles(all_rated: list[_Rated]) -> None:
    seen: dict[Fraction, _Rated] = {}
    for rated in all_rated:
        first = seen.setdefault(rated.rank, rated)
        if first.per_standard != rated.per_standard:
            fault = MeasureFault(FaultKind.CONTRADICTED, str(first.source))
            raise EquivalentError(str(rated.source), fault)


def _rated(equivalent: Equivalent, converter: Converter) -> _Rated:
    own_side, other_side = _sides(equivalent, converter)
    if len(other_side.terms) > 1:
        fault = MeasureFault(FaultKind.SEVERAL_UNITS, str(other_side))
        raise EquivalentError(str(equivalent), fault)
    term = other_side.terms[0]
    unit = UNIT_BY_WORD[word_key(term.unit)]
    per_standard = converter.to_base(own_side) / (term.number * unit.per_unit_base)
    rank = _rank(own_side, unit, converter)
    return _Rated(unit, per_standard, rank, equivalent)


def _rank(own_side: TypedQuantity, unit: Unit, converter: Converter) -> Fraction:
    if unit.measure is Measure.VOLUME:
        return unit.per_unit_base
    own_largest_base = max(converter.unit_base(term.unit) for term in own_side.terms)
    if converter.measure is Measure.VOLUME:
        return own_largest_base
    # Between mass and count: the smaller the count's unit, the better; each is best.
    in_count = unit.measure is Measure.COUNT
    return -(unit.per_unit_base if in_count else own_largest_base)


def _sides(
    equivalent: Equivalent, converter: Converter
) -> tuple[TypedQuantity, TypedQuantity]:
    """Return the side in the item's own measure, and the other."""
    left_is_own = _is_own(equivalent, equivalent.left, converter)
    right_is_own = _is_own(equivalent, equivalent.right, converter)
    if left_is_own == right_is_own:
        fault = OneMeasureFault(
            converter.item_name,
            converter.measure.kept_by,
            converter.base_unit,
            is_both=left_is_own,
        )
        raise EquivalentError(str(equivalent), fault)
    if left_is_own:
        return equivalent.left, equivalent.right
    return equivalent.right, equivalent.left


def _is_own(equivalent: Equivalent, side: TypedQuantity, converter: Converter) -> bool:
    measures = set()
    for term in side.terms:
        key = word_key(term.unit)
        unit = UNIT_BY_WORD.get(key)
        if unit is None and key not in converter.own_by_form:
            fault = MeasureFault(FaultKind.NOT_A_UNIT, term.unit)
            raise EquivalentError(str(equivalent), fault)
        measures.add(converter.measure if unit is None else unit.measure)
    if len(measures) > 1:
        fault = MeasureFault(FaultKind.TWO_MEASURES, str(side))
        raise EquivalentError(str(equivalent), fault)
    return converter.measure in measures
