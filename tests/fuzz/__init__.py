"""Damaged files of every kind that is read, made by mutators for chunks, atoms, pages and rows.

``python -m tests.fuzz --seconds N`` tries as many as fit and keeps the ones that do harm. ``test_fuzz`` is a short run.
"""
