"""The usual rule's orders, and the reasons of every line."""
