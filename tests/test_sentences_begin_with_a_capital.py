"""What a job refuses is a sentence: a name that begins it begins with a capital."""

import inspect
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from planning import errors as planning_errors
from planning.baking import errors as baking
from stock import errors as stock_errors
from stock.counts import errors as counts
from stock.holding import errors as holding
from stock.ledger import correcting, ledger
from stock.measure_faults import Meaning, Missing
from stock.moving import errors as moving
from stock.wasting import errors as wasting

MODULES = (
    *(planning_errors, baking, stock_errors, counts, holding),
    *(correcting, ledger, moving, wasting),
)
NAMES = {"item_name", "item_names", "name", "cake_name", "recipe_name", "lot"}
NAMES |= {"place_name", "place_names"}
NAME = "sour cream"
VALUES = {
    "int": 3,
    "Decimal": Decimal(3),
    "date": date(2026, 5, 4),
    "date | None": date(2026, 5, 4),
    "datetime": datetime(2026, 5, 4, 12, tzinfo=UTC),
    "bool": True,
    "Missing": Missing.WEIGHT_OF_CUP,
    "Meaning": Meaning("cup"),
}
LISTS = ("tuple[str, ...]", "Iterable[str]", "Sequence[str]", "Collection[str]")


def named_errors():
    """Yield every error that is given a name, with arguments for it."""
    for module in MODULES:
        for error in vars(module).values():
            if not (inspect.isclass(error) and issubclass(error, Exception)):
                continue
            parameters = list(inspect.signature(error.__init__).parameters.values())
            said = [each for each in parameters[1:] if each.default is each.empty]
            if error.__module__ == module.__name__ and NAMES & {p.name for p in said}:
                yield pytest.param(error, said, id=error.__name__)


def value_of(parameter):
    kind = parameter.annotation
    kind = kind if isinstance(kind, str) else inspect.formatannotation(kind)
    kind = kind.removeprefix("collections.abc.")
    if kind in LISTS:
        return [NAME]
    kind = kind.rpartition(".")[2]
    return VALUES.get(kind, NAME if parameter.name in NAMES else "3 lb")


@pytest.mark.parametrize(("error", "said"), list(named_errors()))
def test_a_name_that_begins_what_is_refused_has_a_capital(error, said):
    named = {
        each.name: value_of(each) for each in said if each.kind != each.KEYWORD_ONLY
    }
    more = {
        each.name: value_of(each) for each in said if each.kind == each.KEYWORD_ONLY
    }

    sentence = str(error(*named.values(), **more))

    assert NAME.capitalize() in sentence or NAME in sentence
    assert not sentence[0].islower(), sentence
