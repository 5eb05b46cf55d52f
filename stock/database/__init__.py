"""What this program asks of its database beyond the ordinary."""
