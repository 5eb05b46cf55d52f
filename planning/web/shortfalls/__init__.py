"""The pages of what runs short, day by day, and why."""
