"""What can go wrong with a plan, each with a sentence that a baker can act on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


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


HOW_TO_WRITE_A_SIZE = (
    "Write tiers like '8 in round x 3', '9 x 13 in sheet x 2' or "
    "'10 in square x 4', joined by +, the number of layers last."
)
SIZE_FAULTS = {
    SizeFault.UNREADABLE: HOW_TO_WRITE_A_SIZE.replace("W", "w", 1),
    SizeFault.SIDES: "a sheet has two sides, a round or square one.",
    SizeFault.TWO_UNITS: "give both sides in the same unit.",
    SizeFault.NO_LAYERS: f"say how many layers. {HOW_TO_WRITE_A_SIZE}",
    SizeFault.NO_UNIT: f"is that in or cm? {HOW_TO_WRITE_A_SIZE}",
    SizeFault.DIVIDED_BY_ZERO: f"nothing can be divided by 0. {HOW_TO_WRITE_A_SIZE}",
    SizeFault.ZERO_LENGTH: f"a length must be above 0. {HOW_TO_WRITE_A_SIZE}",
}


class SizeError(PlanningError):
    """A cake's size, or a length, that cannot be read."""

    def __init__(self, text: str, fault: SizeFault) -> None:
        super().__init__(f"{text!r} isn't a size: {SIZE_FAULTS[fault]}")
        self.text = text
        self.fault = fault


class RecipeCycleError(PlanningError):
    """A recipe that contains itself, directly or through others."""

    def __init__(self, path: Sequence[str]) -> None:
        super().__init__(
            f"{path[0]} contains itself: {' -> '.join(path)}. "
            "Remove one of these lines from its recipe."
        )
        self.path = tuple(path)


class UnscalableCakeError(PlanningError):
    """A line grows with something that the cake's base size has none of."""

    def __init__(self, cake_name: str, base_size: str, scale_name: str) -> None:
        if base_size:
            wrong = f"its base size, {base_size}, has no {scale_name} to go by"
        else:
            wrong = "it has no base size"
        super().__init__(
            f"{cake_name} has a line that scales with {scale_name}, but {wrong}. "
            "Change the base size, or what the line scales with."
        )
        self.cake_name = cake_name
        self.base_size = base_size
        self.scale_name = scale_name


class NoYieldError(PlanningError):
    """Something is to be made or split, but nobody said how much it gives."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"Nothing says how much {name} one batch or one whole yields, and some "
            "will be needed. Enter what it yields."
        )
        self.name = name


class CakeAsComponentError(PlanningError):
    """A recipe takes a finished cake."""

    def __init__(self, recipe_name: str, cake_name: str) -> None:
        super().__init__(
            f"{recipe_name} takes {cake_name}, but a cake cannot be part of a recipe. "
            "Use what the cake is made of instead."
        )
        self.recipe_name = recipe_name
        self.cake_name = cake_name


class NoSuchOrderError(PlanningError):
    """An order that was there when its page was opened and is no more."""

    def __init__(self) -> None:
        super().__init__(
            "This draft is no longer there: the orders were drafted again, and nothing "
            "asks for it now. See what is suggested now."
        )


class OrderMovedOnError(PlanningError):
    """Somebody else was faster: the order is no longer what the page showed."""

    def __init__(self, reference: str, who: str, did: str, when: str) -> None:
        super().__init__(
            f"{who} has {did} {reference} already, {when}. Nothing else was done; "
            "look at it as it is now."
        )
        self.reference = reference
        self.who = who


class OrderStateError(PlanningError):
    """A step that an order cannot take from where it is."""

    def __init__(self, reference: str, state: str, done: str, way_out: str) -> None:
        super().__init__(
            f"{reference} is {state}, so it cannot be {done}. {way_out}".strip()
        )
        self.reference = reference
        self.state = state


class EmptyOrderError(PlanningError):
    """An order that asks for nothing."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            f"Nothing is on {reference} yet. Add a line, or discard the draft."
        )
        self.reference = reference


class OrderDayOverError(PlanningError):
    """An order is to be approved for a day that is over."""

    def __init__(self, reference: str, day: str) -> None:
        super().__init__(
            f"{reference} was for {day}, which is over. Give it a new day, or discard "
            "the draft."
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
            f"{reference} waits for this delivery of {supplier} already. "
            "Add to that order instead."
        )
        self.reference = reference


class NothingCameError(PlanningError):
    """A delivery of which nothing came and that closes nothing."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            f"{reference}: no packs came and no line is closed, so there is nothing "
            "to save. Enter what came, or close what will not come."
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
            f"{reference}: this page has recorded another delivery already. Open the "
            "order anew and enter what is still missing."
        )
        self.reference = reference


class DeliveryDayError(PlanningError):
    """A day on which no delivery can have come, or will come."""


class NoSuchDeliveryError(PlanningError):
    """A delivery that the order does not have."""

    def __init__(self, reference: str) -> None:
        super().__init__(f"{reference} has no such delivery. Look at the order anew.")


class DeliveryDependedOnError(PlanningError):
    """Something has happened since that stands on what a delivery brought."""

    def __init__(self, reference: str, reasons: Sequence[str], way_out: str) -> None:
        super().__init__(
            f"This delivery of {reference} can't be undone: {'; '.join(reasons)}. "
            f"{way_out}"
        )
        self.reasons = tuple(reasons)


class DueInThePastError(PlanningError):
    """A cake is asked for that should have been ready before the plan begins."""

    def __init__(self, due_on: date) -> None:
        super().__init__(
            f"{due_on.isoformat()} is over: nothing can be baked for it now. "
            "Ask for a day from today on."
        )
        self.due_on = due_on


class NoCakeNamedError(PlanningError):
    """A cake is asked for, but not by any name."""

    def __init__(self) -> None:
        super().__init__("Say which cake: write its name as it stands in Recipes.")


class NoCakesAskedError(PlanningError):
    """A cake is asked for, but none of it."""

    def __init__(self) -> None:
        super().__init__("Ask for one cake or more.")


class NoSuchCakeError(PlanningError):
    """A cake is asked for that has no recipe."""

    def __init__(self, name: str, offer: str = "") -> None:
        """Take what was typed, and a sentence on what there is; blank without any."""
        super().__init__(
            f"There is no cake called {name!r}.{offer or ' Add its recipe first.'}"
        )
        self.name = name


class TakesRetiredError(PlanningError):
    """A cake is asked for that takes something nobody looks after any more."""

    def __init__(self, cake: str, retired: Sequence[str]) -> None:
        super().__init__(
            f"{cake[:1].upper()}{cake[1:]} takes {' and '.join(retired)}. What is "
            "retired is not watched: remove it from its recipes, or bring it back on "
            "its page."
        )
        self.retired = retired


class DueTooFarAheadError(PlanningError):
    """A cake is asked for on a day that no plan reaches."""

    def __init__(self, due_on: date, last_on: date) -> None:
        super().__init__(
            f"{due_on.isoformat()} is further ahead than a plan looks. Ask for a day "
            f"up to {last_on.isoformat()}; a cake after it needs nothing yet."
        )
        self.due_on = due_on


class SearchRunningError(PlanningError):
    """A second search for better orders, while one is running."""

    def __init__(self) -> None:
        super().__init__(
            "Best orders are being looked for already. Stop that search first, or "
            "wait for what it finds."
        )


class SearchMovedOnError(PlanningError):
    """Somebody else has looked for orders since this page was opened."""

    def __init__(self) -> None:
        super().__init__(
            "Somebody has looked for other orders since you opened this page. Nothing "
            "was replaced, and what you asked for is kept here: look again to go on."
        )


class NoSuchSearchError(PlanningError):
    """A search that was there when its page was opened and is no more."""

    def __init__(self) -> None:
        super().__init__(
            "This search is no longer there: somebody has started another. Nothing "
            "was done; see what that one finds."
        )


class SearchOutOfDateError(PlanningError):
    """Found orders that belong to a day that is over, or to a kitchen as it was."""

    def __init__(self) -> None:
        super().__init__(
            "Since these orders were found a new day has begun or the kitchen has "
            "changed, so they were not drafted. Find best orders again."
        )
