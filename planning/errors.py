"""What can go wrong with a plan, each with a sentence that a baker can act on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.wording.names import capitalized


class PlanningError(Exception):
    """The base of everything that this app refuses."""


class SizeFault(StrEnum):
    """What is wrong with a cake's size."""

    UNREADABLE = "unreadable"
    SIDES = "sides"  # one of a sheet, or two of another shape
    TWO_UNITS = "two_units"  # one for each side
    NO_LAYERS = "no_layers"
    NO_UNIT = "no_unit"
    DIVIDED_BY_ZERO = "divided_by_zero"
    ZERO_LENGTH = "zero_length"


HOW_TO_WRITE_A_SIZE = gettext_lazy(
    "Write tiers like '8 in round x 3', '9 x 13 in sheet x 2' or "
    "'10 in square x 4', joined by +, the number of layers last."
)
SIZE_FAULTS = {
    SizeFault.UNREADABLE: gettext_lazy(
        "write tiers like '8 in round x 3', '9 x 13 in sheet x 2' or "
        "'10 in square x 4', joined by +, the number of layers last."
    ),
    SizeFault.SIDES: gettext_lazy("a sheet has two sides, a round or square one."),
    SizeFault.TWO_UNITS: gettext_lazy("give both sides in the same unit."),
    SizeFault.NO_LAYERS: gettext_lazy("say how many layers. {how}"),
    SizeFault.NO_UNIT: gettext_lazy("is that in or cm? {how}"),
    SizeFault.DIVIDED_BY_ZERO: gettext_lazy("nothing can be divided by 0. {how}"),
    SizeFault.ZERO_LENGTH: gettext_lazy("a length must be above 0. {how}"),
}


class SizeError(PlanningError):
    """A cake's size, or a length, that cannot be read."""

    def __init__(self, text: str, fault: SizeFault) -> None:
        super().__init__(
            _("{text!r} isn't a size: {fault}").format(
                text=text,
                fault=SIZE_FAULTS[fault].format(how=HOW_TO_WRITE_A_SIZE),
            )
        )
        self.text = text
        self.fault = fault


class RecipeCycleError(PlanningError):
    """A recipe that contains itself, directly or through others."""

    def __init__(self, path: Sequence[str]) -> None:
        super().__init__(
            capitalized(
                _(
                    "{path} contains itself: {path2}. Remove one of these lines from "
                    "its recipe."
                ).format(path=path[0], path2=" -> ".join(path))
            )
        )
        self.path = tuple(path)


class UnscalableCakeError(PlanningError):
    """A line grows with something that the cake's base size has none of."""

    def __init__(self, cake_name: str, base_size: str, scale_name: str) -> None:
        if base_size:
            wrong = _(
                "its base size, {base_size}, has no {scale_name} to go by"
            ).format(base_size=base_size, scale_name=scale_name)
        else:
            wrong = _("it has no base size")
        super().__init__(
            capitalized(
                _(
                    "{cake_name} has a line that scales with {scale_name}, but "
                    "{wrong}. Change the base size, or what the line scales with."
                ).format(cake_name=cake_name, scale_name=scale_name, wrong=wrong)
            )
        )
        self.cake_name = cake_name
        self.base_size = base_size
        self.scale_name = scale_name


class NoYieldError(PlanningError):
    """Something is to be made or split, but nobody said how much it gives."""

    def __init__(self, name: str) -> None:
        super().__init__(
            _(
                "Nothing says how much {name} one batch or one whole yields, and "
                "some will be needed. Enter what it yields."
            ).format(name=name)
        )
        self.name = name


class CakeAsComponentError(PlanningError):
    """A recipe takes a finished cake."""

    def __init__(self, recipe_name: str, cake_name: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{recipe_name} takes {cake_name}, but a cake cannot be part of a "
                    "recipe. Use what the cake is made of instead."
                ).format(recipe_name=recipe_name, cake_name=cake_name)
            )
        )
        self.recipe_name = recipe_name
        self.cake_name = cake_name


class NoSuchOrderError(PlanningError):
    """An order that was there when its page was opened and is no more."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "This draft is no longer there: the orders were drafted again, and "
                "nothing asks for it now. See what is suggested now."
            )
        )


class OrderMovedOnError(PlanningError):
    """Somebody else was faster: the order is no longer what the page showed."""

    def __init__(self, reference: str, who: str, did: str, when: str) -> None:
        super().__init__(
            _(
                "{who} has {did} {reference} already, {when}. Nothing else was "
                "done; look at it as it is now."
            ).format(who=who, did=did, reference=reference, when=when)
        )
        self.reference = reference
        self.who = who


class OrderStateError(PlanningError):
    """A step that an order cannot take from where it is."""

    def __init__(self, reference: str, state: str, done: str, way_out: str) -> None:
        super().__init__(
            _("{reference} is {state}, so it cannot be {done}. {way_out}")
            .format(reference=reference, state=state, done=done, way_out=way_out)
            .strip()
        )
        self.reference = reference
        self.state = state


class RevisionError(PlanningError):
    """A revision that cannot go on as it is, with what to do instead."""


class AnswerError(PlanningError):
    """A supplier's answer to a line that cannot be; `field` says which part of it."""

    def __init__(self, line_id: int, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.line_id = line_id
        self.field = field


class WentError(PlanningError):
    """How an order went to its supplier cannot be as it was said."""


class EmptyOrderError(PlanningError):
    """An order that asks for nothing."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            _(
                "Nothing is on {reference} yet. Add a line, or discard the draft."
            ).format(reference=reference)
        )
        self.reference = reference


class OrderDayOverError(PlanningError):
    """An order is to be approved for a day that is over."""

    def __init__(self, reference: str, day: str) -> None:
        super().__init__(
            _(
                "{reference} was for {day}, which is over. Give it a new day, or "
                "discard the draft."
            ).format(reference=reference, day=day)
        )
        self.reference = reference


class OrderQuestionsError(PlanningError):
    """Something speaks against a step, and nobody has said yet that it is so."""

    def __init__(
        self, reference: str, questions: Sequence[str], sentences: Sequence[str]
    ) -> None:
        super().__init__(f"{reference}: {' '.join(sentences)}")
        self.reference = reference
        self.questions = tuple(questions)


class OrderPackError(PlanningError):
    """A pack that an order cannot ask for; `pack_id` says which."""

    def __init__(self, pack_id: int, sentence: str) -> None:
        super().__init__(sentence)
        self.pack_id = pack_id


class TruckTakenError(PlanningError):
    """A second order that waits for one truck."""

    def __init__(self, supplier: str, reference: str) -> None:
        super().__init__(
            _(
                "{reference} waits for this delivery of {supplier} already. Add to "
                "that order instead."
            ).format(reference=reference, supplier=supplier)
        )
        self.reference = reference


class NothingCameError(PlanningError):
    """A delivery of which nothing came and that closes nothing."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            _(
                "{reference}: no packs came and no line is closed, so there is "
                "nothing to save. Enter what came, or close what will not come."
            ).format(reference=reference)
        )
        self.reference = reference


@dataclass(frozen=True, slots=True)
class DeliveryFault:
    """What is wrong with one line of a delivery, or has to be confirmed first."""

    line_id: int
    field: str  # packs, use_by or lot_code
    sentence: str
    is_question: bool = False  # it may stand once somebody says that it is so


class DeliveryFaultsError(PlanningError):
    """Lines of a delivery that cannot be received as they are; nothing was."""

    def __init__(self, faults: Sequence[DeliveryFault]) -> None:
        super().__init__(" ".join(fault.sentence for fault in faults))
        self.faults = tuple(faults)


class DeliveryKeyError(PlanningError):
    """The same key came with another delivery: nobody knows which is meant."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            _(
                "{reference}: this page has recorded another delivery already. "
                "Open the order anew and enter what is still missing."
            ).format(reference=reference)
        )
        self.reference = reference


class DeliveryDayError(PlanningError):
    """A day on which no delivery can have come, or will come."""


class NoSuchDeliveryError(PlanningError):
    """A delivery that the order does not have."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            _("{reference} has no such delivery. Look at the order anew.").format(
                reference=reference
            )
        )


class DeliveryDependedOnError(PlanningError):
    """Something has happened since that stands on what a delivery brought."""

    def __init__(self, reference: str, reasons: Sequence[str], way_out: str) -> None:
        super().__init__(
            _(
                "This delivery of {reference} can't be undone: {reasons}. {way_out}"
            ).format(reference=reference, reasons="; ".join(reasons), way_out=way_out)
        )
        self.reasons = tuple(reasons)


class DueInThePastError(PlanningError):
    """A cake is asked for that should have been ready before the plan begins."""

    def __init__(self, due_on: date) -> None:
        super().__init__(
            _(
                "{due_on} is over: nothing can be baked for it now. Ask for a day "
                "from today on."
            ).format(due_on=due_on.isoformat())
        )
        self.due_on = due_on


class NoCakeNamedError(PlanningError):
    """A cake is asked for, but not by any name."""

    def __init__(self) -> None:
        super().__init__(_("Say which cake: write its name as it stands in Recipes."))


class NoCakesAskedError(PlanningError):
    """A cake is asked for, but none of it."""

    def __init__(self) -> None:
        super().__init__(_("Ask for one cake or more."))


class NoSuchCakeError(PlanningError):
    """A cake is asked for that has no recipe."""

    def __init__(self, name: str, offer: str = "") -> None:
        """Take what was typed, and a sentence on what there is; blank without any."""
        super().__init__(
            _("There is no cake called {name!r}.{value}").format(
                name=name, value=offer or _(" Add its recipe first.")
            )
        )
        self.name = name


class TakesRetiredError(PlanningError):
    """A cake is asked for that takes something nobody looks after any more."""

    def __init__(self, cake: str, retired: Sequence[str]) -> None:
        super().__init__(
            capitalized(
                _(
                    "{cake}{cake2} takes {retired}. What is retired is not watched: "
                    "remove it from its recipes, or bring it back on its page."
                ).format(
                    cake=cake[:1].upper(), cake2=cake[1:], retired=" and ".join(retired)
                )
            )
        )
        self.retired = retired


class DueTooFarAheadError(PlanningError):
    """A cake is asked for on a day that no plan reaches."""

    def __init__(self, due_on: date, last_on: date) -> None:
        super().__init__(
            _(
                "{due_on} is further ahead than a plan looks. Ask for a day up to "
                "{last_on}; a cake after it needs nothing yet."
            ).format(due_on=due_on.isoformat(), last_on=last_on.isoformat())
        )
        self.due_on = due_on
