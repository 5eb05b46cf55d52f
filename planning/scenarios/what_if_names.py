"""What a change that is tried out names: a cake, an item, a supplier, a pack."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from planning.engine.kitchen import Kitchen, NodeKind, PackTerms
from planning.errors import PlanningError
from planning.scenarios.promise import MOST_NAMES_OFFERED
from stock.entry.entries import folded
from stock.wording.names import most_alike, offered

Values = Mapping[str, Any]


class WhatIfError(PlanningError):
    """A change that the kitchen cannot take; `column` says which field is wrong."""

    def __init__(self, column: str, sentence: str) -> None:
        super().__init__(sentence)
        self.column = column


def one_pack(packs: Sequence[PackTerms], label: str) -> PackTerms:
    """Return the pack with this label, the only one where it is blank, or raise."""
    if label:
        packs = [pack for pack in packs if folded(pack.label) == folded(label)]
    if not packs:
        raise WhatIfError("pack", _("This supplier does not sell it so."))
    if len(packs) > 1:
        labels = ", ".join(pack.label for pack in packs)
        raise WhatIfError("pack", _("Which pack? {labels}.").format(labels=labels))
    return packs[0]


def planned_reference(kitchen: Kitchen, values: Values) -> str:
    """Return the reference of a cake that is to be baked: not of a dropped one."""
    wanted, cakes = folded(values["reference"]), kitchen.cakes
    for reference, quantity in zip(cakes.references, cakes.quantity, strict=True):
        if folded(reference) == wanted and quantity > 0:
            return reference
    raise WhatIfError(
        "reference",
        _("No cake on the plan is called {values}.{meant}").format(
            values=values["reference"],
            meant=_meant(*_cakes_alike(kitchen, values["reference"])),
        ),
    )


def _cakes_alike(kitchen: Kitchen, typed: str) -> tuple[list[str], list[str]]:
    """Return the cakes whose reference or name is like what was typed, nearest first.

    And, for want of any, the first on the plan. Each with its name behind its
    reference: `2137 (Lemon curd cake)`.
    """
    cakes, names = kitchen.cakes, kitchen.nodes.names
    labels: dict[str, list[str]] = {}
    for reference, node, quantity in zip(
        cakes.references, cakes.cake.tolist(), cakes.quantity, strict=True
    ):
        if quantity > 0:
            name = names[node]
            for known in dict.fromkeys((reference, name)):
                labels.setdefault(known, []).append(f"{reference} ({name})")
    alike = most_alike(typed, labels, most=MOST_NAMES_OFFERED)
    found = dict.fromkeys(label for known in alike for label in labels[known])
    first = dict.fromkeys(label for found in labels.values() for label in found)
    return list(found)[:MOST_NAMES_OFFERED], list(first)[:MOST_NAMES_OFFERED]


def _meant(alike: Sequence[str], first: Sequence[str]) -> str:
    if alike:
        return _(" Did you mean {alike}?").format(alike=" or ".join(alike))
    return _(" The first are {first}.").format(first=", ".join(first)) if first else ""


def item_node(kitchen: Kitchen, name: str) -> int:
    """Return the node of what is bought or made, or raise with the nearest names."""
    nodes, wanted = kitchen.nodes, folded(name)
    for node, known in enumerate(nodes.names):
        if folded(known) == wanted and nodes.kind[node] != NodeKind.CAKE:
            return node
    known_names = [
        known
        for node, known in enumerate(nodes.names)
        if nodes.kind[node] != NodeKind.CAKE
    ]
    near = offered(name, known_names, most=MOST_NAMES_OFFERED)
    raise WhatIfError(
        "item", _("There is no item called {name}.{near}").format(name=name, near=near)
    )


def supplier_place(kitchen: Kitchen, values: Values) -> int:
    """Return where a supplier stands in the kitchen, or raise with the nearest."""
    wanted = folded(values["supplier"])
    for place, terms in enumerate(kitchen.suppliers):
        if folded(terms.name) == wanted:
            return place
    name, known_names = values["supplier"], [each.name for each in kitchen.suppliers]
    near = offered(name, known_names, most=MOST_NAMES_OFFERED)
    raise WhatIfError(
        "supplier",
        _("There is no supplier called {name}.{near}").format(name=name, near=near),
    )
