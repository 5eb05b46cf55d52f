"""The pages of traces: where did it come from, and what did it go into?"""
