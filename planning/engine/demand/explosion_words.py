"""What an explosion warns of, each in a sentence."""

from collections.abc import Iterator
from datetime import date

import numpy as np

from planning.engine.demand.figures import Figures
from planning.engine.demand.prepared import Prepared
from planning.engine.kitchen import NO_LIMIT_DAYS, NO_NODE, NodeKind
from planning.engine.words import capitalized, day_words, days_words

# Less is not worth a note: 3 g of a lemon's zest.
LEAST_LEFT_OVER_WHOLES = 0.1
RETIRED_WAYS_OUT = {
    NodeKind.BOUGHT: ", and neither watched nor ordered. Remove it from its recipes, "
    "or bring it back on its page.",
    NodeKind.MADE: ". Remove it from the recipes, or bring it back on its page.",
    NodeKind.CAKE: ". Bring it back on its page, or cancel what is planned of it.",
}


def explosion_warnings(prepared: Prepared, figures: Figures) -> tuple[str, ...]:
    """Return everything a baker should know about an explosion."""
    return (
        *_overdue(prepared),
        *_late(prepared, figures),
        *_past_keeping(prepared, figures),
        *_without_use_by(prepared),
        *_left_over(prepared, figures),
        *_retired(prepared, figures),
    )


def _write_amount(amount_base: float, unit: str) -> str:
    return f"{amount_base:,.1f}".removesuffix(".0") + f" {unit}"


def _overdue(prepared: Prepared) -> Iterator[str]:
    cakes, names = prepared.kitchen.cakes, prepared.kitchen.nodes.names
    for row in prepared.planned.overdue.tolist():
        yield (
            f"{cakes.references[row]} ({names[int(cakes.cake[row])]}) was due on "
            f"{day_words(cakes.due_on[row])}, before this plan begins, and counts for "
            "nothing in it. Mark it as baked or cancelled, or give it a new day."
        )


def _late(prepared: Prepared, figures: Figures) -> Iterator[str]:
    names = prepared.kitchen.nodes.names
    first = day_words(prepared.window.from_on)
    is_late = figures.is_late & (figures.days_late > 0)
    for node in np.flatnonzero(is_late).tolist():
        days = days_words(int(figures.days_late[node]))
        yield (
            f"{capitalized(names[node])} should have been made {days} before this plan "
            f"begins; now planned for {first}, and so late. Make it first, or give its "
            "cakes a later day."
        )


def _past_keeping(prepared: Prepared, figures: Figures) -> Iterator[str]:
    """Warn of what is made for a need earlier than it keeps, once a recipe."""
    nodes, days = prepared.kitchen.nodes, prepared.days
    for groups in prepared.made_groups:
        for group in groups:
            waits = days.after_from - days.after_from[group.days.column]
            in_window = days.after_from[group.days.column] < prepared.window.days
            keeps_days = nodes.keeps_days[group.nodes]
            is_limited = keeps_days != NO_LIMIT_DAYS
            if not (is_limited & (keeps_days <= waits.max(initial=0))).any():
                continue
            waits_too_long = waits >= keeps_days[:, np.newaxis]
            waits_too_long &= is_limited[:, np.newaxis] & in_window
            waits_too_long &= figures.net_base[group.nodes] > 0
            for place in np.flatnonzero(waits_too_long.any(axis=1)).tolist():
                column = int(np.argmax(waits_too_long[place]))
                yield _past_keeping_sentence(
                    nodes.names[int(group.nodes[place])],
                    days.on(int(group.days.column[column])),
                    days.on(column),
                    int(keeps_days[place]),
                )


def _past_keeping_sentence(
    name: str, made_on: date, needed_on: date, keeps_days: int
) -> str:
    return (
        f"{capitalized(name)}: made on {day_words(made_on)} to keep "
        f"{days_words(keeps_days)}, but needed on {day_words(needed_on)}. Check its "
        "lead time and how long it keeps."
    )


def _without_use_by(prepared: Prepared) -> Iterator[str]:
    lots, nodes = prepared.kitchen.lots, prepared.kitchen.nodes
    is_made = np.isin(nodes.kind[lots.node], (NodeKind.MADE, NodeKind.CAKE))
    is_made &= lots.amount_base > 0
    found = {
        int(lots.node[lot])
        for lot in np.flatnonzero(is_made).tolist()
        if lots.use_by[lot] is None
    }
    for node in sorted(found):
        yield (
            f"{capitalized(nodes.names[node])}: a lot in stock has no use-by date, so "
            "the plan takes it to keep for ever. Enter its use-by date."
        )


def _left_over(prepared: Prepared, figures: Figures) -> Iterator[str]:
    """Tell of each part what no later day uses in date, however far ahead."""
    nodes, days = prepared.kitchen.nodes, prepared.days
    parts = np.flatnonzero(nodes.whole != NO_NODE)
    in_window = days.after_from < prepared.window.days
    unused_base = figures.surplus_base[parts][:, in_window]
    least_base = nodes.part_yields_base[parts] * LEAST_LEFT_OVER_WHOLES
    is_told = (unused_base > 0) & (unused_base >= least_base[:, np.newaxis])
    for place, column in np.argwhere(is_told).tolist():
        part = int(parts[place])
        amount = _write_amount(float(unused_base[place, column]), nodes.units[part])
        yield (
            f"{capitalized(nodes.names[part])}: use or freeze {amount} left over on "
            f"{day_words(days.on(column))}."
        )


def _retired(prepared: Prepared, figures: Figures) -> Iterator[str]:
    """Warn of what recipes still take although nobody looks after it any more."""
    nodes, days = prepared.kitchen.nodes, prepared.days
    retired = np.flatnonzero(nodes.retired & (nodes.kind != NodeKind.PART))
    in_window = days.after_from < prepared.window.days
    is_needed = figures.needed_base[retired][:, in_window] > 0
    for place in np.flatnonzero(is_needed.any(axis=1)).tolist():
        node = int(retired[place])
        first = days.on(int(np.argmax(is_needed[place])))
        name = capitalized(nodes.names[node])
        yield (
            f"{name}: retired, but needed from {day_words(first)} on"
            f"{RETIRED_WAYS_OUT[NodeKind(int(nodes.kind[node]))]}"
        )
