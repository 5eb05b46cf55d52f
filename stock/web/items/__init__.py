"""The pages of an item: its days, its figures, its parts, its substitutes."""
