"""The ticket of a cake: what is it, and what does it contain?"""
