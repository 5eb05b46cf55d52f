"""The pages of the kitchen's settings, people and files."""
