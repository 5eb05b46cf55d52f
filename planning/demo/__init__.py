"""The demo kitchen: a made-up bakery that starts on any day.

Quillmere Cake Rooms is a small bakery of special-occasion cakes in the American
Midwest, closed on Mondays. It, its suppliers, recipes and prices are our own
invention; household weights are those of USDA's SR28 (2015) where it has one. Its
weeks turn around one big Saturday, 8 to 14 days from today, with a wedding cake of
three tiers and more orders than the shelves can carry.

The CSV files have the sheets and columns of the kitchen workbook. Days stand in them
as `today-1` or `big+4` (days after the big Saturday), and for open orders as `from
today+2` (the supplier's first delivery day from then on) or `before today` (its last
one before).
"""

from planning.demo.kitchen import build_sheets, counted_on

__all__ = ["build_sheets", "counted_on"]
