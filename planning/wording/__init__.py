"""Plans, orders and answers as people read them, on pages and in commands."""
