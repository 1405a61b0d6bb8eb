"""From runs to places: penalties, counted runs, indexes and ties, as the rules have them."""
