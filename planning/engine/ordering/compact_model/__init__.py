"""The whole question as one mixed-integer programme, for few items."""
