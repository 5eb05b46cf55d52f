"""Labels that are printed here: of what was made, opened or received."""
