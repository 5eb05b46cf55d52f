"""Measures: what people write about amounts, and what it comes to.

Pure: no Django, no database, no clock. Amounts are exact fractions in an item's own
base unit (g, mL or each), shown by the suffix `_base`.
"""
