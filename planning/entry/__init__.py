"""The columns and cells of the sheets that belong to planning."""
