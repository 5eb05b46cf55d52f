"""Recipes and their lines: saved, read as one book, weighed and scaled."""
