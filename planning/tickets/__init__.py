"""The tickets of planned cakes: what they said when they were printed."""
