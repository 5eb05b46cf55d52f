"""What can go wrong with stock, each with a sentence that a baker can act on."""


class StockError(Exception):
    """The base of everything that this app refuses."""
