"""What is in the building, and who it is bought from."""
