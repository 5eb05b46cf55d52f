"""How much a kitchen's file may hold: far more than any bakery has, and no more.

A page answers within seconds and shares its machine with others, so it takes less than
a command does. A hundred thousand recipe lines are 500,000 cells and about 25 MB
unpacked; a bakery of 400 items and 200 recipes has some 15,000 cells.
"""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

MEGABYTE = 2**20
MOST_FILE_BYTES = 20 * MEGABYTE
# Ten thousand equal rows pack 60 to 1; a zip bomb packs 1,000 to 1.
MOST_PACKING = 250
SMALL_PART_BYTES = MEGABYTE  # below it packing does not matter
MOST_PARTS = 1_000
MOST_ROWS = 2**20  # of one sheet, as in the spreadsheet programs
# Of styles, themes and the like, which a library holds in memory whole. What a
# spreadsheet program writes by itself has some thousands.
MOST_OTHER_ELEMENTS = 100_000

TOO_MUCH = gettext_lazy(
    "It holds more than any kitchen does. Remove what is not the kitchen's."
)


@dataclass(frozen=True, slots=True)
class FileLimits:
    """What a file may come to before anything of it is held in memory."""

    cells: int
    spread: int  # cells from column A to each row's last one, blank ones included
    unpacked_bytes: int
    way_out: Promise  # for a file that is over them

    @property
    def text_elements(self) -> int:
        """How many elements the texts that cells share may have."""
        return 4 * self.cells


ON_A_PAGE = FileLimits(
    cells=120_000,
    spread=600_000,
    unpacked_bytes=40 * MEGABYTE,
    way_out=gettext_lazy(
        "It holds more than any kitchen does. Remove what is not the kitchen's. If it "
        "is all the kitchen's, load it by command: python manage.py load_kitchen FILE"
    ),
)
BY_COMMAND = FileLimits(
    cells=1_000_000,
    spread=5_000_000,
    unpacked_bytes=150 * MEGABYTE,
    way_out=TOO_MUCH,
)
