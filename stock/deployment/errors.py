"""What stands in the way of serving a kitchen to others, each with the way out."""

from django.utils.translation import gettext as _

from stock.errors import StockError


class DeploymentError(StockError):
    """Something that must be so before others can use the kitchen, and is not."""


class HostNameError(DeploymentError):
    """A name that no browser could ask for."""

    def __init__(self, host: str) -> None:
        super().__init__(
            _(
                "{host!r} isn't the name of a site. Write it like "
                "kitchen.example.com, in small letters, without https:// and "
                "without a port."
            ).format(host=host)
        )
        self.host = host
