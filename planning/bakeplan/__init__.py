"""Planned cakes: saved, planned again, and what a change of them sets free."""
