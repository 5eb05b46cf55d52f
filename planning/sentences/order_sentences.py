"""The reasons and warnings of suggested orders in sentences: the one door to them."""

from dataclasses import dataclass, replace

from planning.engine.plan import Purchasing, SuggestedLine
from planning.engine.reasons import StoredSentence

# Each registers its sentences.
from planning.sentences import (  # noqa: F401
    found_reasons,
    order_warnings,
    standing,
    usual_reasons,
)
from planning.sentences.teller import Teller, sentence


@dataclass(frozen=True, slots=True)
class OrderSentences:
    """Says why lines are on orders, and what the orders warn of."""

    to: Teller

    def because(self, line: SuggestedLine) -> tuple[str, ...]:
        """Return why a line is on its order."""
        return tuple(sentence(reason, self.to) for reason in line.because)

    def warnings(self, purchasing: Purchasing) -> tuple[str, ...]:
        """Return what needs a look about some orders."""
        return tuple(sentence(each, self.to) for each in purchasing.warnings)

    def as_said(self, purchasing: Purchasing) -> Purchasing:
        """Return the same orders, their reasons and warnings as they are said now."""
        return replace(
            purchasing,
            orders=tuple(
                replace(
                    order,
                    lines=tuple(
                        replace(
                            line, because=tuple(map(StoredSentence, self.because(line)))
                        )
                        for line in order.lines
                    ),
                )
                for order in purchasing.orders
            ),
            warnings=tuple(map(StoredSentence, self.warnings(purchasing))),
        )
