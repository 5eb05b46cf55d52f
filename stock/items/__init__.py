"""Items, places, parts of a whole and substitutes: saved row by row."""
