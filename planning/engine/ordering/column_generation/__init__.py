"""Prices of deliveries and the bound that they prove, with the best so far.

Dantzig-Wolfe column generation: `master` is the restricted master problem, its dual
values are the prices, `pricing_rounds` the loop between the two, `parts` the branching.
"""
