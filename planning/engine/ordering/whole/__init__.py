"""The whole question as one programme, for few items."""
