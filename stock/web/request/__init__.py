"""What stands around every page: headers, refusals, traces, the clock."""
