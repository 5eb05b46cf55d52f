"""Prices of deliveries and the bound that they prove, with the best so far."""
