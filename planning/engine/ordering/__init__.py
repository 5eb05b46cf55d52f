"""The best possible order, how close it is to the best, and why."""
