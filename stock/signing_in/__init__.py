"""Signing in: how often a password may be tried, and what a password may be."""
