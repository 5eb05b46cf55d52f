"""The pages of shelves, places and what is on hand."""
