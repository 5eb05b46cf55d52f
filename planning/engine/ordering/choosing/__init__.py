"""Whole choices, one schedule an item."""
