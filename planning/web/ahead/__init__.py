"""The pages of one item: its days ahead, and what takes it on each of them."""
