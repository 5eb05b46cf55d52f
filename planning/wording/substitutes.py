"""What could take the place of what no delivery saves, in words.

Only what the bakery has noted as a substitute is spoken of, and nothing is ever put in
another thing's place by the program: the head baker reads, judges and changes the
recipe. Allergens are those on the labels entered.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from planning.engine.scenarios.rescue import Lost
from planning.engine.scenarios.substituting import (
    Ordered,
    StandIn,
    UsableSubstitute,
    find_stand_ins,
)
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.plan.planner import Planned
from planning.plan.telling import Telling
from planning.recipes.recipe_book import RecipeBook, open_book
from planning.sentences.words import capitalized, listed
from stock.items.allergens import AllergenChange, allergen_change, split_allergens
from stock.models import Substitute
from stock.wording.money_words import money_words

MOST_NAMED = 6  # allergens
MOST_SOURCES = 3


@dataclass(frozen=True, slots=True)
class Noted:
    """A substitute as the bakery noted it, and its two labels."""

    item_id: int
    stand_in_id: int
    quantity: str
    for_quantity: str
    per_base: float
    note: str
    label_before: str  # allergens as entered
    label_after: str

    @property
    def change(self) -> AllergenChange:
        """What one label names and the other does not."""
        return allergen_change(self.label_before, self.label_after)


@dataclass(frozen=True, slots=True)
class FoundSubstitute:
    """How far a noted substitute would cover something that is lost."""

    lost: Lost
    noted: Noted
    stand_in: StandIn

    @property
    def node(self) -> int:
        """What stands in."""
        return self.stand_in.substitute.stand_in


@dataclass(frozen=True, slots=True)
class CakeChange:
    """What a substitute does to the allergens of one kind of cake."""

    cake_id: int
    cake_name: str
    references: tuple[str, ...]
    adds: tuple[str, ...]  # allergens that nothing else brings into it
    rest: tuple[str, ...]  # in it already, still in it, and left out


@dataclass(frozen=True, slots=True)
class InPlace:
    """One substitute for one thing that is lost, ready to be read."""

    stand_in_id: int
    name: str
    ratio: str
    note: str
    sentences: tuple[str, ...]
    is_unlabelled: bool  # no allergen is entered for it
    cakes: tuple[CakeChange, ...]


def find(planned: Planned, lost: Sequence[Lost]) -> list[FoundSubstitute]:
    """Return what is noted as a substitute for what is lost. One query.

    What brings no further allergen comes first, then by name; where none is entered
    at all, after those.
    """
    by_id = {planned.kitchen.nodes.ids[each.node]: each for each in lost}
    noted = _noted(by_id)
    node_of = planned.node_by_id
    found = find_stand_ins(
        planned.kitchen,
        planned.plan.window,
        planned.plan.demand,
        planned.deliveries,
        lost,
        [
            UsableSubstitute(
                node_of[each.item_id], node_of[each.stand_in_id], each.per_base
            )
            for each in noted
        ],
    )
    of_node: dict[int, list[Noted]] = defaultdict(list)
    for each in noted:
        of_node[node_of[each.item_id]].append(each)
    return [
        FoundSubstitute(each, row, stand_in)
        for each in lost
        for row, stand_in in zip(
            of_node[each.node], found.get(each.node, ()), strict=True
        )
    ]


def in_brief(planned: Planned, found: Iterable[FoundSubstitute]) -> list[str]:
    """Return a sentence for each substitute of which some is free. No queries."""
    return [
        f"{capitalized(_name(planned, each.lost.node))}: {_amounts(planned, each)}. "
        f"{_label_words(each.noted)}"
        for each in found
        if each.stand_in.covers_base >= LEAST_LACK_BASE
    ]


def in_full(
    planned: Planned, found: Sequence[FoundSubstitute], tell: Telling
) -> dict[int, tuple[InPlace, ...]]:
    """Return all that is to be said, by what is lost. Two queries if anything is."""
    if not found:
        return {}
    book = open_book()
    by_node: dict[int, list[InPlace]] = defaultdict(list)
    for each in found:
        name = _name(planned, each.node)
        item = _name(planned, each.lost.node)
        noted = each.noted
        by_node[each.lost.node].append(
            InPlace(
                stand_in_id=noted.stand_in_id,
                name=name,
                ratio=_("{quantity} of {name} for {for_quantity} of {item}").format(
                    quantity=noted.quantity,
                    name=name,
                    for_quantity=noted.for_quantity,
                    item=item,
                ),
                note=noted.note,
                sentences=tuple(_sentences(planned, each, tell)),
                is_unlabelled=not split_allergens(noted.label_after),
                cakes=tuple(_cake_changes(planned, each, book)),
            )
        )
    return {node: tuple(rows) for node, rows in by_node.items()}


def _noted(item_ids: Iterable[int]) -> list[Noted]:
    rows = Substitute.objects.filter(
        item_id__in=list(item_ids), substitute__retired=False
    ).select_related("item", "substitute")
    noted = [
        Noted(
            each.item_id,
            each.substitute_id,
            each.quantity,
            each.for_quantity,
            each.quantity_base / each.for_quantity_base,
            each.note,
            each.item.allergens,
            each.substitute.allergens,
        )
        for each in rows.order_by("substitute__name")
        # Where nobody has said how much, nothing can be reckoned.
        if each.quantity_base and each.for_quantity_base
    ]
    return sorted(noted, key=_worries)


def _worries(noted: Noted) -> tuple[bool, bool]:
    return bool(noted.change.added), not split_allergens(noted.label_after)


def _name(planned: Planned, node: int) -> str:
    return planned.kitchen.nodes.names[node]


def _amounts(planned: Planned, each: FoundSubstitute) -> str:
    """Return how much of the one from the shelf, for how much of the other."""
    words, stand_in = planned.words, each.stand_in
    takes = words.content(each.node, stand_in.takes_base)
    covers = words.content(each.lost.node, stand_in.covers_base)
    is_all = each.lost.short_base - stand_in.covers_base < LEAST_LACK_BASE
    lack = words.content(each.lost.node, each.lost.short_base)
    whole = (
        _("all {lack}").format(lack=lack)
        if is_all
        else _("{covers} of the {lack}").format(covers=covers, lack=lack)
    )
    return _(
        "{takes} of {name} from the shelf, in date and free, for {whole} "
        "that no delivery brings"
    ).format(takes=takes, name=_name(planned, each.node), whole=whole)


def _sentences(planned: Planned, each: FoundSubstitute, tell: Telling) -> Iterable[str]:
    stand_in, words = each.stand_in, planned.words
    if stand_in.covers_base < LEAST_LACK_BASE:
        yield _("Nothing of it is free on the shelf in time.")
    else:
        amounts = capitalized(_amounts(planned, each))
        yield (
            _("Instead of what stands above: {amounts}.").format(amounts=amounts)
            if stand_in.is_instead
            else f"{amounts}."
        )
        yield _cost_words(planned, each, stand_in.dearer)
    if stand_in.left_base >= LEAST_LACK_BASE:
        left = words.content(each.lost.node, stand_in.left_base)
        if stand_in.ordered is None:
            yield _(
                "{left} would still be missing, and no delivery of it is in time."
            ).format(left=left)
        else:
            yield _order_words(planned, each, stand_in.ordered, left, tell)
    if not each.lost.cakes:  # else it is said cake by cake
        yield _label_words(each.noted)


def _cost_words(planned: Planned, each: FoundSubstitute, dearer: Decimal | None) -> str:
    item, currency = _name(planned, each.lost.node), planned.bakery.currency
    if dearer is None:
        sold = {pack.node for pack in planned.kitchen.packs}
        missing = [
            _name(planned, node)
            for node in (each.node, each.lost.node)
            if node not in sold
        ]
        return _("What it costs more is not known: no price for {missing}.").format(
            missing=listed(missing, 2)
        )
    if not dearer:
        return _("It costs as much as {item} would.").format(item=item)
    more = _("more") if dearer > 0 else _("less")
    return _("It costs {money} {more} than {item} would.").format(
        money=money_words(abs(dearer), currency), more=more, item=item
    )


def _order_words(
    planned: Planned, each: FoundSubstitute, ordered: Ordered, left: str, tell: Telling
) -> str:
    words, remedy = planned.words, ordered.remedy
    packs = words.short(each.node, ordered.packs * remedy.pack.size_base)
    covers = words.content(each.lost.node, ordered.covers_base)
    what = (
        left
        if covers == left
        else _("{covers} of the {left}").format(covers=covers, left=left)
    )
    supplier = planned.kitchen.suppliers[remedy.supplier].name
    cost = money_words(ordered.cost, planned.bakery.currency)
    return _(
        "For {what} still missing it can be ordered: {packs} from "
        "{supplier} by {moment} for {day}, {cost} without any fee."
    ).format(
        what=what,
        packs=packs,
        supplier=supplier,
        moment=tell.moment(remedy.order_by),
        day=tell.day(remedy.deliver_on),
        cost=cost,
    )


def _label_words(noted: Noted) -> str:
    change = noted.change
    if change.added:
        return _("Adds {added}, from the labels entered.").format(
            added=listed(change.added, MOST_NAMED)
        )
    return _("Its label as entered adds no allergen.")


def _cake_changes(
    planned: Planned, each: FoundSubstitute, book: RecipeBook
) -> Iterable[CakeChange]:
    """Yield what becomes of each kind of cake that needs what is lost."""
    kitchen = planned.kitchen
    place_of = {ref: place for place, ref in enumerate(kitchen.cakes.references)}
    by_cake: dict[int, list[str]] = defaultdict(list)
    for reference in each.lost.cakes:
        by_cake[int(kitchen.cakes.cake[place_of[reference]])].append(reference)
    for cake, references in by_cake.items():
        cake_id = kitchen.nodes.ids[cake]
        others = _brought_by_others(book, cake_id, each.noted.item_id)
        adds = tuple(word for word in each.noted.change.added if word not in others)
        yield CakeChange(
            cake_id=cake_id,
            cake_name=kitchen.nodes.names[cake],
            references=tuple(references),
            adds=adds,
            rest=_rest_words(planned, each, others),
        )


def _brought_by_others(
    book: RecipeBook, cake_id: int, item_id: int
) -> dict[str, list[str]]:
    """Return the allergens that anything but one item brings into a cake, and what."""
    brought: dict[str, list[str]] = defaultdict(list)
    for inside_id in sorted(book.inside(cake_id) - {item_id}):
        named = book.named[inside_id]
        for allergen in split_allergens(named.allergens):
            brought[allergen].append(named.name)
    return brought


def _rest_words(
    planned: Planned, each: FoundSubstitute, others: dict[str, list[str]]
) -> tuple[str, ...]:
    """Return what is in a cake already, and what a substitute does not take out."""
    change, item = each.noted.change, _name(planned, each.lost.node)
    known = [word for word in change.added if word in others]
    gone = [word for word in change.left_out if word not in others]
    return (
        *(
            [_("{known} in it already").format(known=listed(known, MOST_NAMED))]
            if known
            else []
        ),
        *(
            _("{word} still in it, from {others}").format(
                word=word, others=listed(others[word], MOST_SOURCES)
            )
            for word in change.left_out
            if word in others
        ),
        *(
            [
                _("{gone} left out only by replacing all the {item} in it").format(
                    gone=listed(gone, MOST_NAMED), item=item
                )
            ]
            if gone
            else []
        ),
    )
