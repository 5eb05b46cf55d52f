"""The pages of a count, on paper, on the desk and on a phone."""
