"""Better orders than the usual rule's, how close to the best they are, and why.

A joint replenishment problem, solved by branch and price: start at `best_orders`, then
`search`.
"""
