"""Leading drivers through a day and a season: who mentors whom, how runs build up, who needs what."""
