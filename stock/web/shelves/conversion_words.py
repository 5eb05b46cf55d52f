"""How a quantity was turned into its item's base unit, in sentences."""

from fractions import Fraction

from django.utils.translation import gettext as _

from stock.measures.conversion import Converter
from stock.measures.piece_words import with_noun
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.resolution import to_ledger


def conversion_words(quantity: TypedQuantity, converter: Converter) -> str:
    """Return a sentence for each term, and one for the sum of several."""
    terms = converter.converted(quantity)
    sentences = []
    for term in terms:
        said = with_noun(term.said, converter)
        in_base = _base_words(term.amount_base, converter)
        through = (
            _(", through {through}").format(through=term.through)
            if term.through
            else ""
        )
        sentences.append(
            f"{said}." if said == in_base else f"{said} = {in_base}{through}."
        )
    if len(terms) > 1:
        together = _base_words(converter.to_base(quantity), converter)
        sentences.append(_("Together {together}.").format(together=together))
    return " ".join(sentences)


def _base_words(amount_base: Fraction, converter: Converter) -> str:
    words = f"{to_ledger(amount_base).normalize():f} {converter.base_unit}"
    return with_noun(words, converter)
