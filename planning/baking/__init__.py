"""What is made takes its ingredients: batches, baked cakes, and undoing both."""
