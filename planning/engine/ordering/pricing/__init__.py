"""One item by itself: what it needs, and how it buys best at given prices."""
