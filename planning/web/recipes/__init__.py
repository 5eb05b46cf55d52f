"""The pages of recipes and their lines."""
