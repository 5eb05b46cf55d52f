"""Money: how exact it is, and how it is said. Pure: no Django."""

from decimal import ROUND_HALF_UP, Decimal

CURRENCY_SIGNS = {"USD": "$", "EUR": "€", "GBP": "£"}
# Of a sum of money; and of the price of one pack, which may be parts of a cent.
MONEY_PLACES, PRICE_PLACES = 2, 4
CENT = Decimal(1).scaleb(-MONEY_PLACES)
PRICE_STEP = Decimal(1).scaleb(-PRICE_PLACES)
MINUS = "\N{MINUS SIGN}"


def money_words(amount: Decimal, currency: str) -> str:
    """Return an amount of money with its currency.

    >>> money_words(Decimal("1204.5"), "USD")
    '$1,204.50'
    """
    return _with_currency(f"{_half_up(abs(amount), CENT):,.2f}", amount, currency)


def price_words(amount: Decimal, currency: str) -> str:
    """Return a price with its currency, to the ten-thousandth where it needs it.

    >>> price_words(Decimal("0.035"), "USD")
    '$0.035'
    """
    whole, _, fraction = f"{_half_up(abs(amount), PRICE_STEP):,.4f}".partition(".")
    figure = f"{whole}.{fraction[:2]}{fraction[2:].rstrip('0')}"
    return _with_currency(figure, amount, currency)


def _half_up(amount: Decimal, step: Decimal) -> Decimal:
    return amount.quantize(step, rounding=ROUND_HALF_UP)


def _with_currency(figure: str, amount: Decimal, currency: str) -> str:
    is_nothing = not any(digit in figure for digit in "123456789")
    sign = MINUS if amount < 0 and not is_nothing else ""
    mark = CURRENCY_SIGNS.get(currency, f"{currency}\N{NO-BREAK SPACE}")
    return f"{sign}{mark}{figure}"
