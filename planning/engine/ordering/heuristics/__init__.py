"""Whole choices, one schedule an item: heuristics over the columns known so far."""
