"""Suppliers and their packs: saved; delivery days and unit prices."""
