"""What we will bake, what that needs, and what to buy."""
