"""Orders from draft to sent, and those that came in as sent already."""
