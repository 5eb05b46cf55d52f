"""The plan worked out a second time, slowly, to check the engine against."""
