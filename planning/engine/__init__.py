"""The plan's arithmetic: pure, without Django, a clock or a database."""
