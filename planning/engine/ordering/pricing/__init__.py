"""One item by itself: what it needs, and how it buys best at given prices.

This is the pricing problem of column generation: lot sizing for one item, solved by
dynamic programming over labels (called states) with dominance. `kernels.buying_up` has
the labels of what keeps and `kernels.labeling` those of what goes out of date;
`keeping` bounds from below what a label still has to pay, so that most are
dropped early.
"""
