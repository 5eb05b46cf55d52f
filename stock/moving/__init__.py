"""Moves: from one place to another with their lots, and undoing that."""
