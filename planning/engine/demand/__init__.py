"""What the planned cakes take from which shelf and when, and what is made for them."""
