"""What there is to order from: every delivery, every pack and every wish."""
