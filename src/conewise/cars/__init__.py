"""A car as a person describes it; typical values fill the gaps."""
