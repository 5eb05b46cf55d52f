"""What stands on each shelf, day by day: what comes, what is used, what expires."""
