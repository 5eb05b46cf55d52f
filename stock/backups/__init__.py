"""Backups of the whole database, and the way back from one.

A backup is a file and its record beside it: a file without a record does not count.
Unlike a kitchen workbook it holds everything: movements, counts, people and drafts.
"""
