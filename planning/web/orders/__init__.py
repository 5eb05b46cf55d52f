"""The pages of orders to suppliers."""
