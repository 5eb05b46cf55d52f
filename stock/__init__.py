"""What is in the building, and who it is bought from."""

__version__ = "0.1.0"
