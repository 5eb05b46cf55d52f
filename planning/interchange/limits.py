"""How much a kitchen's file may hold: far more than any bakery has, and no more.

A hundred thousand recipe lines are 500,000 cells and about 25 MB unpacked.
"""

MEGABYTE = 2**20
MOST_FILE_BYTES = 20 * MEGABYTE
MOST_UNPACKED_BYTES = 150 * MEGABYTE
# Ten thousand equal rows pack 60 to 1; a zip bomb packs 1,000 to 1.
MOST_PACKING = 250
SMALL_PART_BYTES = MEGABYTE  # below it packing does not matter
MOST_PARTS = 1_000
MOST_CELLS = 1_000_000
MOST_ROWS = 2**20  # of one sheet, as in the spreadsheet programs
# Cells counted from column A to each row's last one, blank ones included.
MOST_SPREAD = 5_000_000

TOO_MUCH = "It holds more than any kitchen does. Take out what is not the kitchen's."
