"""The pages of lots: where does one lie, is it on hold, what did it go into?"""
