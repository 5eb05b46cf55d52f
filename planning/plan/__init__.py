"""A kitchen read from the database, and the plan that the engine makes of it."""
