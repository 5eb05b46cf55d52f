"""Labels: what a scanned one says, and those that are printed here."""
