"""The search for the best orders in the background, and what it has found."""
