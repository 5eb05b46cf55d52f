"""One item by itself: what it needs, and how it buys best at given prices.

This is the pricing problem of column generation: lot sizing for one item, solved by
dynamic programming over labels (called states) with dominance. `buying_up` has the
labels of what keeps and `walking` those of what goes out of date; `to_go` bounds from
below what a label still has to pay, so that most are dropped early.
"""
