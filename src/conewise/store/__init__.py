"""The book: everything that a person wants remembered, in one folder of their own."""
