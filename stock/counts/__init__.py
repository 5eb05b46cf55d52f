"""The count: open, walked, taken down, reviewed and posted."""
