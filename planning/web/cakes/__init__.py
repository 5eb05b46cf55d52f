"""The pages of the bake plan and its cakes."""
