"""How figures come in: rows, the kinds of their cells, and faults. Pure."""
