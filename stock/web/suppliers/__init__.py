"""The pages of suppliers and their packs."""
