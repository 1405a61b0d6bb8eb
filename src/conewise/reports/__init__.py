"""Answers as pictures, pages and plain data."""
