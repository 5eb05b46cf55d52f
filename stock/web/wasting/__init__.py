"""The pages of waste: what was thrown away, and why?"""
