"""How a book of an earlier version becomes one of today: one module a schema, in their order."""
